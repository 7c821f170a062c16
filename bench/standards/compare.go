package standards

import (
	"context"
	"fmt"
	"math"
	"strings"

	"knownwater"
	"knownwater/science/errorpart"
	"knownwater/science/known"
	"knownwater/science/unit"
)

// StandardReading is a standard, and what a method read of it.
type StandardReading struct {
	Set      int64  // PreparedSet.ID
	Standard string // code or name
	Read     known.MeanRead
}

// CompareStocks judges whether the stocks behind two standards tell the same,
// from readings of both by one method, and notes the verdict in the book of
// events. permitted is the largest difference that does not matter, as a share.
// Owner.
func (b *Operations) CompareStocks(ctx context.Context, by knownwater.Who, first, second StandardReading, permitted float64) (c known.Comparison, err error) {
	if err := by.MustOwn(); err != nil {
		return c, err
	}
	var fs knownwater.Faults
	wrong := func(column, found, want string) {
		fs = append(fs, knownwater.Fault{Column: column, Found: found, Want: want})
	}
	if !(permitted > 0 && permitted <= 1) {
		wrong("permitted", fmt.Sprint(permitted), "a share above 0 and at most 1, such as 0.02 for 2 %")
	}
	for i, r := range []StandardReading{first, second} {
		of := []string{"_first", "_second"}[i]
		if !(r.Read.Mean > 0) || math.IsInf(r.Read.Mean, 0) {
			wrong("mean"+of, fmt.Sprint(r.Read.Mean), "the mean reading, above 0")
		}
		if !(r.Read.U > 0) || math.IsInf(r.Read.U, 0) {
			wrong("u"+of, fmt.Sprint(r.Read.U), "the standard uncertainty of the mean: the spread of the readings over the root of their number")
		}
		if r.Read.N < 0 || r.Read.N == 1 {
			wrong("n"+of, fmt.Sprint(r.Read.N), "how many readings: two or more, as one has no spread; nothing where ± does not come from readings")
		}
	}
	if len(fs) > 0 {
		return c, fs
	}
	err = b.write(ctx, func(t tx) error {
		x, from, err := t.compared(first, "standard_first")
		if err != nil {
			return err
		}
		y, other, err := t.compared(second, "standard_second")
		if err != nil {
			return err
		}
		if from == other {
			return knownwater.Faults{knownwater.Fault{Column: "standard_second", Found: "both standards come from the stock %s", Want: "a standard from another stock: what they share cancels, and nothing would be tested"}.Of(from)}
		}
		c = known.CompareStocks(x, y, first.Read, second.Read, permitted)
		return t.Note(by, 0, fmt.Sprintf("compared the stocks %s and %s: %s", from, other, c.Verdict),
			fmt.Sprintf("the first reads %s %% against the second, permitted ±%g %%", unit.Format(100*c.Shift, 100*c.U), 100*permitted))
	})
	return c, err
}

// compared is a standard's value in mg/L of its analyte's first basis, and the
// version of the stock that it comes from.
func (t tx) compared(r StandardReading, column string) (errorpart.Value, string, error) {
	s, err := t.set(r.Set)
	if err != nil {
		return errorpart.Value{}, "", err
	}
	st, ok := s.Standard(r.Standard)
	if !ok || st.Solution.From == "" {
		return errorpart.Value{}, "", knownwater.Faults{knownwater.Fault{Column: column, Found: "%q", Want: "a standard of the set %s that something was added to"}.Of(r.Standard, s.Spec.Name)}
	}
	from := st.Solution.From
	for i := s.Spec.place(from); i >= 0; i = s.Spec.place(from) {
		from = s.Spec.Solutions[i].From
	}
	scale := s.Spec.Shelf.Scale
	to := unit.Scale{Analyte: scale.Analyte, Unit: "mg/L", Basis: unit.Bases(scale.Analyte)[0]}
	f, err := s.Standards().To(to)
	if err != nil {
		return errorpart.Value{}, "", err
	}
	return errorpart.Value{Value: st.Value.Value * f, Parts: ownNames(st.Value.Parts.Times(f), s)}, from, nil
}

// ownNames gives the errors of a set's own steps names of their own, so that
// "filling of S1" of two sets is not taken for one error. Devices, stocks and
// the water's background are the same errors in every set.
func ownNames(ps errorpart.Parts, s PreparedSet) errorpart.Parts {
	shared := map[string]bool{"background": true}
	for _, r := range append(append([]ShelfRef(nil), s.Spec.Shelf.Devices...), s.Spec.Shelf.Stocks...) {
		for _, words := range []string{"device %s", "device %s as checked", "gain of %s", "stock %s", "density of %s", "water lost from %s",
			"purity of %s", "molar masses of %s", "weighing the salt of %s", "filling of %s"} {
			shared[fmt.Sprintf(words, r.Spec.Name)] = true
		}
	}
	out := append([]errorpart.Part(nil), ps...)
	for i, p := range out {
		name := strings.TrimSuffix(strings.TrimPrefix(p.Name, "temperature at the "), ", its last digit")
		if !shared[name] {
			out[i].Name = fmt.Sprintf("%s (set %d)", p.Name, s.ID)
		}
		if p.Name == "background" { // one batch of water, one error
			out[i].Name = fmt.Sprintf("background of %s", s.Spec.Shelf.Water.Spec.Name)
		}
	}
	return errorpart.Of(out...)
}
