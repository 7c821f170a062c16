package known

import (
	"fmt"
	"sort"
	"strings"
	"time"

	"knownwater/science/unit"
)

// Stock is a solution of known concentration that standards are made from.
// It is either certified (Value, U on Scale) or weighed from a salt.
type Stock struct {
	Name  string
	Scale unit.Scale // of Value; for a weighed stock the shelf's
	Value float64    // certified value
	U     float64    // its standard uncertainty (k = 1)
	Salt  *Weighed   // set where the stock was weighed

	// Density in kg/L at room temperature and its u, for weighing and for
	// mg/kg. 0: estimated, see density().
	Density, UDensity float64

	Left    float64   // mL still in the bottle; 0 means not limited
	Made    time.Time // zero where not known
	Expires time.Time // zero where not known

	// Loss is water lost by evaporation since the value held, as the bottle's
	// weight shows: grams lost and its standard uncertainty, against the volume
	// that was then in the bottle (mL).
	Loss, ULoss, LossFrom float64
}

// Weighed is how a stock was made from a salt.
type Weighed struct {
	Salt         string // formula, one of Salts
	Mass         float64
	Scale        string  // device; its name
	Purity       float64 // mass share of the salt, at most 1
	PurityWithin float64 // ± limits of Purity
	Flask        string  // device; its name
}

// Salt is a salt that stocks can be weighed from.
type Salt struct {
	Formula  string
	Name     string
	Analyte  string
	Units    float64 // formula units of the analyte's basis in one of the salt (a charge is half a CaCO3)
	Drying   string  // from memory; the maker's word beats it
	Oxidiser bool
}

// Salts are the salts the bench knows. Drying advice is from memory; the
// bottle's label and safety sheet override it.
var Salts = []Salt{
	{"KNO3", "potassium nitrate", "nitrate", 1, "dry 1 to 2 h at 105 to 110 °C, cool over drying agent", true},
	{"NaNO3", "sodium nitrate", "nitrate", 1, "dry 1 to 2 h at 105 to 110 °C; draws water from air, weigh fast", true},
	{"NaNO2", "sodium nitrite", "nitrite", 1, "dry over drying agent; the solution keeps 1 to 2 months; toxic", true},
	{"NH4Cl", "ammonium chloride", "ammonia", 1, "dry 1 h at 105 °C, not hotter", false},
	{"KH2PO4", "potassium dihydrogen phosphate", "phosphate", 1, "dry 1 to 2 h at 105 to 110 °C", false},
	{"Na2HPO4", "disodium hydrogen phosphate, water-free", "phosphate", 1, "dry 2 h at 110 to 120 °C; draws water from air", false},
	{"Na2SiF6", "sodium hexafluorosilicate", "silicate", 1, "dry 1 h at 105 °C; toxic", false},
	{"NaHCO3", "sodium hydrogen carbonate", "alkalinity", 0.5, "dry over drying agent, never by heat", false},
	{"Na2CO3", "sodium carbonate, water-free", "alkalinity", 1, "dry 2 h at 250 to 270 °C", false},
	{"CaCO3", "calcium carbonate, dissolved in acid", "calcium", 1, "dry 2 h at 110 °C; dissolve with dilute acid, acid into water", false},
	{"CaCl2.2H2O", "calcium chloride dihydrate", "calcium", 1, "its water content drifts: check the stock against another", false},
	{"MgCl2.6H2O", "magnesium chloride hexahydrate", "magnesium", 1, "its water content drifts: check the stock against another", false},
	{"KCl", "potassium chloride", "potassium", 1, "dry 2 h at 110 °C or hotter", false},
	{"KI", "potassium iodide", "iodide", 1, "dry over drying agent, keep dark", false},
}

// FindSalt finds a salt by formula and says, if there is none, which fit.
func FindSalt(formula, analyte string) (Salt, error) {
	var fit []string
	for _, s := range Salts {
		if s.Analyte == analyte {
			fit = append(fit, s.Formula)
		}
	}
	sort.Strings(fit)
	for _, s := range Salts {
		if s.Formula == formula {
			if s.Analyte != analyte {
				return Salt{}, fmt.Errorf("%s holds no %s: %s would", formula, analyte, strings.Join(fit, " or "))
			}
			return s, nil
		}
	}
	return Salt{}, fmt.Errorf("salt %q is not known: %s would be for %s", formula, strings.Join(fit, " or "), analyte)
}

// fraction is the mass share of the analyte, counted in basis, in the salt.
func (s Salt) fraction(basis string) (share, u float64, err error) {
	return unit.MassFraction(basis, s.Formula, s.Units)
}

// densityPerGram is by how much 1 g/L of dissolved salt raises the density, in
// g/L: 0.31 (NH4Cl) to 0.9 (CaCl2) for the salts here, about 0.63 for KNO3 and
// 0.67 for NaNO3; handbook values FROM MEMORY, hence the wide limits.
const (
	densityPerGram       = 0.65
	densityPerGramWithin = 0.35
)
