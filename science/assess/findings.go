package assess

import (
	"knownwater/science/doubt"
	"knownwater/science/note"
	"knownwater/science/num"
)

// Findings is what a trial says about every method in it: the contract of
// docs/formats.md. All concentrations are in Unit and Basis; Low and High are
// 95 % limits.
type Findings struct {
	Analyte     string           `json:"analyte"`
	Unit        string           `json:"unit"`
	Basis       string           `json:"basis"`
	Questions   []doubt.Question `json:"questions"` // first of all: doubts that wait for an answer
	Answers     []doubt.Answered `json:"answers"`   // what was answered already
	WaterStated bool             `json:"water_stated"`
	Salinity    float64          `json:"salinity"`
	Temperature float64          `json:"temperature_c"`
	Seed        uint64           `json:"seed"`
	Version     string           `json:"version"`
	Methods     []MethodFinding  `json:"methods"`
	Procedures  []Procedure      `json:"procedures"` // every method as its sheet says it is used
	Nitrite     []NitriteFinding `json:"nitrite,omitempty"`
	Notes       []note.Note      `json:"note_codes"`
}

// MethodFinding is all that is found of one method and dilution (and matrix,
// where the trial has several: each is a method of its own).
type MethodFinding struct {
	Method     string             `json:"method"`
	Kind       string             `json:"kind"`
	Dilution   float64            `json:"dilution"`
	Matrix     string             `json:"matrix,omitempty"`
	N          int                `json:"n"`
	Technique  string             `json:"technique,omitempty"` // the technique that levels, spread, limits and needs speak of
	Levels     []LevelFinding     `json:"levels"`
	Spread     Spread             `json:"spread"`
	Readers    []Offset           `json:"readers"` // each reader's offset, where there are fewer than five
	Lots       []LotFinding       `json:"lots"`    // each against the mean of the lots tried
	Line       Line               `json:"line"`
	Shape      Shape              `json:"shape"`
	Limits     Limits             `json:"limits"`
	Steps      []Step             `json:"steps"`
	Pairs      []Pair             `json:"pairs"`
	Techniques []TechniqueFinding `json:"techniques"`
	Needs      []NeedFinding      `json:"needs"`
	ReadBack   []ReadBack         `json:"read_back"`
	MCError    num.Number         `json:"mc_error"` // largest Monte Carlo standard error of a limit, as a share of its interval
	Notes      []note.Note        `json:"note_codes"`
}

// LevelFinding is what a method read at one known.
type LevelFinding struct {
	Level        float64    `json:"level"`
	ULevel       float64    `json:"u_level"`
	N            int        `json:"n"`
	Mean         num.Number `json:"mean"`
	MeanLow      num.Number `json:"mean_low"`
	MeanHigh     num.Number `json:"mean_high"`
	SD           num.Number `json:"sd"`
	SDLow        num.Number `json:"sd_low"`
	SDHigh       num.Number `json:"sd_high"`
	Bias         num.Number `json:"bias"`
	BiasLow      num.Number `json:"bias_low"`
	BiasHigh     num.Number `json:"bias_high"`
	Recovery     num.Number `json:"recovery"` // percent
	RecoveryLow  num.Number `json:"recovery_low"`
	RecoveryHigh num.Number `json:"recovery_high"`
	SingleU      num.Number `json:"single_u"`
	MidpointMean num.Number `json:"midpoint_mean"`

	// Seen are the distinct readings at this level, as concentrations, for figures.
	Seen []SeenReading `json:"seen"`
}

// SeenReading is one distinct reading at a level and how often it was seen.
// Low or High is null where the reading is open at that end.
type SeenReading struct {
	Text  string     `json:"text"`
	Low   num.Number `json:"low"`
	High  num.Number `json:"high"`
	Count int        `json:"count"`
}

// Spread is how single readings scatter, by source. SD² = Sigma0² + (Kappa·mean)²
// for the whole spread; the parts are stated at the response At.
type Spread struct {
	Sigma0 num.Number `json:"sigma0"`
	Kappa  num.Number `json:"kappa"`
	At     num.Number `json:"at"` // mean response at which the parts below are stated

	RepeatabilitySD   num.Number `json:"repeatability_sd"`
	RepeatabilityLow  num.Number `json:"repeatability_low"`
	RepeatabilityHigh num.Number `json:"repeatability_high"`
	ReaderSD          num.Number `json:"reader_sd"`
	ReaderLow         num.Number `json:"reader_low"`
	ReaderHigh        num.Number `json:"reader_high"`
	SessionSD         num.Number `json:"session_sd"`
	SessionLow        num.Number `json:"session_low"`
	SessionHigh       num.Number `json:"session_high"`
	VialSD            num.Number `json:"vial_sd"`
	VialLow           num.Number `json:"vial_low"`
	VialHigh          num.Number `json:"vial_high"`
	LotSD             num.Number `json:"lot_sd"`
	LotLow            num.Number `json:"lot_low"`
	LotHigh           num.Number `json:"lot_high"`
}

// Offset is how far one reader reads from the average of the readers in the
// trial, at the response Spread.At.
type Offset struct {
	Reader string     `json:"reader"`
	Offset num.Number `json:"offset"`
	Low    num.Number `json:"low"`
	High   num.Number `json:"high"`
}

// Line is the straight line reading = Intercept + Slope·level, errors in both.
type Line struct {
	Intercept   num.Number `json:"intercept"`
	InterceptSE num.Number `json:"intercept_se"`
	Slope       num.Number `json:"slope"`
	SlopeSE     num.Number `json:"slope_se"`
	LackOfFitP  num.Number `json:"lack_of_fit_p"`
}

// Shape is the smallest adequate monotone response, used for turning readings
// round. At and Mean are the curve as drawn, for figures.
type Shape struct {
	Name       string       `json:"name"` // line, saturating, dead zone, stray light, free monotone; empty if none can be fitted
	Parameters []num.Number `json:"parameters"`
	At         []float64    `json:"at"`
	Mean       []num.Number `json:"mean"`
	Why        []note.Note  `json:"why_codes"` // what the choice rests on
}

// Limits are true concentrations.
type Limits struct {
	Critical       num.Number `json:"critical"`
	Detection      num.Number `json:"detection"`
	DetectionLow   num.Number `json:"detection_low"` // where the true one lies, 95 %; null above what was tried
	DetectionHigh  num.Number `json:"detection_high"`
	Quantification num.Number `json:"quantification"`
}

// Step is the smallest rise from At that one reading each tells apart, 95 %.
type Step struct {
	At           float64    `json:"at"`
	SmallestStep num.Number `json:"smallest_step"`
	Low          num.Number `json:"smallest_step_low"` // where the true one lies, 95 %; null but where a need begins, and above what was tried
	High         num.Number `json:"smallest_step_high"`
	OtherReader  num.Number `json:"smallest_step_other_reader"`
}

// Pair is what one reading each can say about two levels.
type Pair struct {
	Low              float64    `json:"low"`
	High             float64    `json:"high"`
	RightOrder       num.Number `json:"right_order"` // same reader
	Tie              num.Number `json:"tie"`
	TestsASide       num.Number `json:"tests_a_side"` // for 95 % right order of the two averages
	RightOrderOthers num.Number `json:"right_order_other_reader"`
	TieOthers        num.Number `json:"tie_other_reader"`
}

// TechniqueFinding compares two techniques: To − From, on average over the levels that
// both were tried at, and at each.
type TechniqueFinding struct {
	From   string    `json:"from"`
	To     string    `json:"to"`
	Levels []float64 `json:"levels"`
	Apart
	Margin     num.Number    `json:"margin"` // the permitted error, on average over the levels of a need
	Verdict    string        `json:"verdict"`
	SDRatio    num.Number    `json:"sd_ratio"` // spread of To ÷ spread of From
	SDRatioLow num.Number    `json:"sd_ratio_low"`
	SDRatioHi  num.Number    `json:"sd_ratio_high"`
	ByLevel    []TechniqueAt `json:"by_level"`
}

// Apart is a difference with its limits; Difference is null where the steps of the
// readings hide it.
type Apart struct {
	Difference num.Number `json:"difference"`
	Low        num.Number `json:"low"`
	High       num.Number `json:"high"`
	Low90      num.Number `json:"low_90"` // the two one-sided tests at 5 % look at these
	High90     num.Number `json:"high_90"`
}

// TechniqueAt is the difference at a level; Permitted is null outside every need.
type TechniqueAt struct {
	Level float64 `json:"level"`
	Apart
	Permitted num.Number `json:"permitted"`
}

// The verdicts on two techniques.
const (
	SameForNeed = "same for the need"
	Different   = "different"
	Undecided   = "undecided"
	NoNeedGiven = "no need given"
)

// The verdicts on a need (and Undecided).
const (
	Fit              = "fit"
	FitWhenCorrected = "fit when corrected"
	NotFit           = "not fit"
	NotTried         = "not tried" // no known lies in the need's range
)

// NeedFinding says whether single results meet a need.
type NeedFinding struct {
	Need      string      `json:"need"`
	Verdict   string      `json:"verdict"`
	Raw       ErrorWithin `json:"raw"`
	Corrected ErrorWithin `json:"corrected"`
	// MoreTests is how many tests like the trial's settle an undecided need in 4 of 5
	// cases; Help says what else would where they do not.
	MoreTests num.Number `json:"more_tests"`
	Help      []Help     `json:"would_help,omitempty"`
	// WithinLimits says whether minutes and money of the need are kept; nil where that cannot be said.
	WithinLimits *bool `json:"within_limits"`
	// ByLot is the verdict by each lot's readings alone; UntriedLot on a lot that
	// was not tried, nil with one lot.
	ByLot      []LotVerdict `json:"by_lot"`
	UntriedLot *string      `json:"untried_lot"`
	Averages   []Average    `json:"averages"`  // of several tests, beside single ones
	Why        []note.Note  `json:"why_codes"` // what holds the verdict back, or what would change it
	// AtShare says whether another sharing of a chart's gaps would change the verdict.
	AtShare []note.Note `json:"at_share_codes,omitempty"`
	// Along is the error along the needed range, for figures.
	Along []AlongNeed `json:"along"`
}

// ErrorWithin is the error within which 95 % of single results lie, where it
// is worst against what is permitted.
type ErrorWithin struct {
	Verdict   string     `json:"verdict"` // fit, not fit, undecided
	WorstAt   num.Number `json:"worst_at"`
	Error95   num.Number `json:"error_95"`
	Low       num.Number `json:"error_95_low"`
	High      num.Number `json:"error_95_high"`
	Permitted num.Number `json:"permitted"`
}

// AlongNeed is the error of single results at one concentration of a need.
type AlongNeed struct {
	At        float64    `json:"at"`
	Permitted float64    `json:"permitted"`
	Raw       num.Number `json:"raw"`
	RawLow    num.Number `json:"raw_low"`
	RawHigh   num.Number `json:"raw_high"`
	Corrected num.Number `json:"corrected"`
	CorrLow   num.Number `json:"corrected_low"`
	CorrHigh  num.Number `json:"corrected_high"`
}

// ReadBack is what one reading really says.
type ReadBack struct {
	Reading string          `json:"reading"`
	Level   num.Number      `json:"level"`
	Low     num.Number      `json:"low"`
	High    num.Number      `json:"high"`
	Open    *string         `json:"open"`            // null, "below" or "above"
	Parts   [][2]num.Number `json:"parts,omitempty"` // the pieces of a split set
}
