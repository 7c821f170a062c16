package standards

import (
	"math"
	"time"

	"knownwater"
	"knownwater/science/known"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// ShelfSpec is a shelf for one analyte and one water, frozen: a set keeps the
// one that it was planned with.
type ShelfSpec struct {
	Scale       unit.Scale `json:"scale"` // of levels
	Temperature float64    `json:"temperature"`
	Within      float64    `json:"within"`
	Water       ShelfRef   `json:"water"`
	Stocks      []ShelfRef `json:"stocks"`
	Devices     []ShelfRef `json:"devices"`
	Limits      LimitsSpec `json:"limits"`
}

// ShelfRef is a thing on the shelf in the version that was used, with its
// description as it was then.
type ShelfRef struct {
	Item    int64    `json:"item"`
	Version int64    `json:"version"` // Item.VersionID
	Spec    ItemSpec `json:"spec"`
	Left    float64  `json:"left,omitempty"` // mL of a stock when the set was planned; 0: not limited
}

// SetSpec is a set of standards as it is to be made, or as it was made.
type SetSpec struct {
	Name      string         `json:"name"`
	Note      string         `json:"note,omitempty"`
	UseBy     string         `json:"use_by,omitempty"` // day after which the standards should not be used
	Shelf     ShelfSpec      `json:"shelf"`
	Solutions []SolutionSpec `json:"solutions"` // in the order of their making
}

// SolutionSpec is one solution: planned, and once Kept is set, as it was made.
type SolutionSpec struct {
	Name  string        `json:"name"`
	Code  string        `json:"code,omitempty"`  // on the label; the value stays off it
	Level *float64      `json:"level,omitempty"` // asked for; none: an intermediate
	From  string        `json:"from,omitempty"`  // a stock or an earlier solution; empty: the matrix itself
	Take  MeasureSpec   `json:"take"`
	Make  MeasureSpec   `json:"make"`
	In    known.Diluent `json:"in"`

	MadeAt string     `json:"made_at,omitempty"` // as typed: 2026-03-01 14:20
	MadeBy string     `json:"made_by,omitempty"`
	Kept   *time.Time `json:"kept,omitempty"` // when it was first written down as made
}

// MeasureSpec is one amount: mL, g on a scale, or one drop, Times deliveries.
type MeasureSpec struct {
	Device  string  `json:"device,omitempty"`
	Amount  float64 `json:"amount,omitempty"`
	Times   int     `json:"times,omitempty"`
	Planned float64 `json:"planned,omitempty"` // what the plan said
}

// IsMade says whether a solution was written down as made.
func (s SolutionSpec) IsMade() bool { return s.Kept != nil }

// IsMade says whether every solution was.
func (s SetSpec) IsMade() bool {
	for _, x := range s.Solutions {
		if !x.IsMade() {
			return false
		}
	}
	return len(s.Solutions) > 0
}

// standards are the solutions that are no intermediates.
func (s SetSpec) standards() (out []SolutionSpec) {
	for _, x := range s.Solutions {
		if x.Level != nil {
			out = append(out, x)
		}
	}
	return out
}

// Known is the shelf as the science of standards knows it. The names of the
// matrix's background's analyte are known to fit: faults sees to it.
func (s ShelfSpec) Known() known.Shelf {
	out := known.Shelf{Scale: s.Scale, Room: known.Room{Temperature: s.Temperature, Within: s.Within}, Limits: s.Limits.known()}
	if w := s.Water.Spec.Water; w != nil {
		out.Matrix = known.Matrix{Name: s.Water.Spec.Name, Salinity: w.Salinity}
		if b, ok := w.Background(s.Scale.Analyte); ok {
			f, err := unit.Factor(b.Scale, s.Scale, unit.Water{Salinity: w.Salinity, Temperature: s.Temperature})
			if err != nil {
				f = math.NaN()
			}
			out.Matrix.Background, out.Matrix.U, out.Matrix.How = b.Value*f, b.U*f, b.How
		}
	}
	for _, r := range s.Devices {
		if r.Spec.Device != nil {
			out.Devices = append(out.Devices, r.Spec.Device.known(r.Spec.Name))
		}
	}
	for _, r := range s.Stocks {
		if r.Spec.Stock != nil {
			st := r.Spec.Stock.known(r.Spec.Name)
			st.Left = r.Left
			if st.Salt != nil {
				st.Scale = s.Scale
			}
			out.Stocks = append(out.Stocks, st)
		}
	}
	return out
}

// faults finds what keeps standards from being planned or evaluated on a shelf.
func (s ShelfSpec) faults() knownwater.Faults {
	var fs knownwater.Faults
	w := s.Water.Spec.Water
	if w == nil {
		fs = append(fs, knownwater.Fault{Column: "water", Found: "no water", Want: "the salt water that the standards are made up with, from the shelf"})
	} else if _, ok := w.Background(s.Scale.Analyte); !ok {
		fs = append(fs, knownwater.Fault{Column: "water", Found: "nothing is stated of the %s that %s holds itself",
			Want: "its background with an uncertainty: by standard additions, from a laboratory, or a guess with a wide one; never 0 ± 0"}.Of(s.Scale.Analyte, s.Water.Spec.Name))
	}
	if len(fs) > 0 {
		return fs
	}
	fs, _ = s.Known().Examine(time.Time{})
	return fs
}

// preparation is the set as the science of standards knows it.
func (s SetSpec) preparation() (p known.Preparation) {
	for _, x := range s.Solutions {
		n := known.Solution{Name: x.Name, Code: x.Code, From: x.From, In: x.In,
			Take: known.Measure{Device: x.Take.Device, Amount: x.Take.Amount, Times: x.Take.Times},
			Make: known.Measure{Device: x.Make.Device, Amount: x.Make.Amount, Times: 1}}
		if x.Level != nil {
			n.Standard, n.Asked = true, *x.Level
		}
		p = append(p, n)
	}
	return p
}

// solutionsOf are a plan's solutions as they are kept.
func solutionsOf(p known.Preparation) (out []SolutionSpec) {
	for _, x := range p {
		s := SolutionSpec{Name: x.Name, Code: x.Code, From: x.From, In: x.In}
		if x.Standard {
			level := x.Asked
			s.Level = &level
		}
		if x.From != "" {
			s.Take = MeasureSpec{Device: x.Take.Device, Amount: x.Take.Amount, Times: x.Take.Times, Planned: x.Take.Amount}
			s.Make = MeasureSpec{Device: x.Make.Device, Amount: x.Make.Amount, Times: 1, Planned: x.Make.Amount}
		}
		out = append(out, s)
	}
	return out
}

// faults finds what keeps a set from being evaluated.
func (s SetSpec) faults() knownwater.Faults {
	if fs := s.Shelf.faults(); len(fs) > 0 {
		return fs
	}
	shelf := s.Shelf.Known()
	for i := range shelf.Stocks { // what was taken was there, whatever was noted
		shelf.Stocks[i].Left = 0
	}
	return s.preparation().Faults(shelf)
}

// evaluate gives the set its values. It must be without faults.
func (s SetSpec) evaluate() known.Set { return known.Evaluate(s.Shelf.Known(), s.preparation()) }

// Sheet is what lies beside the bench while the set is made.
func (s SetSpec) Sheet() known.Sheet { return known.MakeSheet(s.Shelf.Known(), s.preparation()) }

// used are the stocks that the set comes from.
func (s SetSpec) used() (out []ShelfRef) {
	from := map[string]bool{}
	for _, x := range s.Solutions {
		from[x.From] = true
	}
	for _, r := range s.Shelf.Stocks {
		if r.Spec.Stock != nil && from[r.Spec.Name] {
			out = append(out, r)
		}
	}
	return out
}

// taken is what each made solution took from a stock.
func (s SetSpec) taken() (out []takenFrom) {
	for _, r := range s.used() {
		for _, x := range s.Solutions {
			if x.IsMade() && x.From == r.Spec.Name {
				out = append(out, takenFrom{r.Item, *x.Kept, s.volumeInto(x.Name)})
			}
		}
	}
	return out
}

// volumeInto is how many mL of its stock went into a solution that is made
// straight from it.
func (s SetSpec) volumeInto(name string) float64 {
	only := s
	only.Solutions = nil
	for _, x := range s.Solutions {
		if x.Name == name {
			only.Solutions = []SolutionSpec{x}
		}
	}
	sum := 0.0
	for _, ml := range only.evaluate().StockUsed {
		sum += ml
	}
	return sum
}

// doubts are what one should know before using the set on a day.
func (s SetSpec) doubts(values known.Set, today time.Time) []note.Note {
	out := s.late(today)
	for _, st := range values.Standards {
		for _, n := range st.Notes {
			out = append(out, note.New("of-standard").Name("standard", st.Solution.Code).Since(n))
		}
	}
	if values.SharedSurer > known.SurerToTell {
		out = append(out, note.New("trial-takes-two-shared").Number("times", values.SharedSurer))
	}
	return out
}

// late are the doubts about dates and bottles; they tell no level.
func (s SetSpec) late(today time.Time) []note.Note {
	shelf := s.Shelf.Known()
	shelf.Stocks = nil
	for _, r := range s.used() {
		shelf.Stocks = append(shelf.Stocks, r.Spec.Stock.known(r.Spec.Name))
	}
	var out []note.Note
	if len(shelf.Stocks) > 0 {
		_, out = shelf.Examine(today)
	}
	if s.UseBy != "" && s.UseBy < today.Format(time.DateOnly) {
		out = append(out, note.New("standards-late").Name("set", s.Name).Name("day", s.UseBy))
	}
	return out
}
