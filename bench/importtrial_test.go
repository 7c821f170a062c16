package bench

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"knownwater"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// TestDataSetInAndOut: a data set imported as a trial comes out as it went in.
func TestDataSetInAndOut(t *testing.T) {
	s := newShed(t)
	d := dataset(t)
	r := must(s.ImportTrial(ctx, owner, d, "Spring trial", "readings.csv"))(t)
	if r.State != Finished || !r.Imported || r.Source != "readings.csv" || r.Progress.Taken != 11 || !r.Progress.StopMet {
		t.Errorf("trial: %+v", r)
	}
	got := must(s.TrialData(ctx, owner, r.ID, FindingsOptions{}))(t)
	if diff := cmp.Diff(d, got, cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("what came out differs (-in +out):\n%s", diff)
	}
	must(s.Findings(ctx, owner, r.ID, FindingsOptions{}))(t)
	var readers []string
	for _, id := range r.Plan.Readers {
		readers = append(readers, must(s.Person(ctx, id))(t).Name)
	}
	if strings.Join(readers, " ") != "Ines Kai" {
		t.Errorf("readers: %q", readers)
	}
	needs := must(s.Needs(ctx))(t) // the bench's own, and the data set's
	if len(needs) != 2 || len(r.Plan.Needs) != 1 || needs[1].ID != r.Plan.Needs[0] || needs[1].Need.Name != "spot a rise" || needs[1].Scale != nitrate {
		t.Errorf("needs: %+v, the plan's %v", needs, r.Plan.Needs)
	}
	_, err := s.RunSheet(ctx, r.ID, 0)
	wantRefusal(t, err, knownwater.WrongState)

	// Once more: methods, people and lots are the same ones.
	before := must(s.Methods(ctx))(t)
	must(s.ImportTrial(ctx, owner, d, "Spring trial again", "readings.csv"))(t)
	if after := must(s.Methods(ctx))(t); len(after) != len(before) {
		t.Errorf("%d methods after the second import, %d after the first", len(after), len(before))
	}
	if got := must(s.Needs(ctx))(t); len(got) != 2 {
		t.Errorf("needs after the second import: %+v", got)
	}
	d.Needs[0].High = 20
	for _, title := range []string{"Autumn trial", "Autumn trial again"} {
		must(s.ImportTrial(ctx, owner, d, title, "readings.csv"))(t)
	}
	if got := must(s.Needs(ctx))(t); len(got) != 3 || got[2].Need.Name != "spot a rise (Autumn trial)" || got[2].Need.High != 20 {
		t.Errorf("needs after one of the same name and another range: %+v", got)
	}
	if ps := must(s.People(ctx))(t); len(ps) != 4 { // Ines, Tomo, Wren; Kai is new
		t.Errorf("people: %+v", ps)
	}
}

// TestDataSetWithUnitsOfItsOwn: a card that shows µmol/L keeps its own numbers on
// the bench, and its readings come out on the trial's scale all the same.
func TestDataSetWithUnitsOfItsOwn(t *testing.T) {
	s := newShed(t)
	d := dataset(t)
	f := 0.062004 // mg of NO3 in a µmol
	card := &d.Methods[0]
	own := *card
	own.Swatches = slices.Clone(card.Swatches)
	for i := range own.Swatches {
		own.Swatches[i] = float64(100 * i)
	}
	own.Own, own.DilutionOver, own.DilutionFactor = unit.Scale{Analyte: "nitrate", Unit: "umol/L", Basis: "NO3"}, 200, 8
	*card = reading.OnScale(own, f)
	for i := range d.Observations {
		if o := &d.Observations[i]; o.Method == card.Name {
			o.Text = []string{"0", "100..200", "100", ">300", "200"}[i%5]
			o.Seen = must(reading.Understand(o.Text, *card))(t)
		}
	}
	r := must(s.ImportTrial(ctx, owner, d, "In moles", "readings.csv"))(t)
	got := must(s.TrialData(ctx, owner, r.ID, FindingsOptions{}))(t)
	if diff := cmp.Diff(d, got, cmpopts.EquateEmpty(), cmpopts.EquateApprox(1e-12, 0)); diff != "" {
		t.Errorf("what came out differs (-in +out):\n%s", diff)
	}
	kept := must(s.MethodVersion(ctx, r.Plan.Methods[0].VersionID))(t).Spec
	if kept.Scale.Unit != "umol/L" || kept.Swatches[2].Value != 200 || kept.Dilution.Over != 200 {
		t.Errorf("the card is kept as %+v", kept)
	}
}

// TestImportedMethodOfTheSameName: it does not become the next version of the
// bench's own method, and stays off the lists.
func TestImportedMethodOfTheSameName(t *testing.T) {
	s := newShed(t)
	d := dataset(t)
	d.Methods[0].Name = s.card.Spec.Name
	for i := range d.Observations {
		if d.Observations[i].Method == "Birch card" {
			d.Observations[i].Method = s.card.Spec.Name
		}
	}
	r := must(s.ImportTrial(ctx, owner, d, "Other card", "readings.csv"))(t)
	if m := must(s.Method(ctx, s.card.ID))(t); m.Version != 1 {
		t.Errorf("the bench's own card is at version %d", m.Version)
	}
	retired := 0
	for _, m := range must(s.Methods(ctx))(t) {
		if m.Retired && m.Spec.Name == s.card.Spec.Name {
			retired++
		}
	}
	if retired != 1 {
		t.Errorf("%d retired cards, want 1", retired)
	}
	got := must(s.TrialData(ctx, owner, r.ID, FindingsOptions{}))(t)
	if len(got.Methods[0].Swatches) != 4 {
		t.Errorf("the trial's own card: %+v", got.Methods[0])
	}
}

func TestImportRefuses(t *testing.T) {
	s := newShed(t)
	for name, change := range map[string]func(*knownwater.Trial){
		"no text":   func(d *knownwater.Trial) { d.Observations[0].Text = "" },
		"no count":  func(d *knownwater.Trial) { d.Observations[0].Count = 0 },
		"no method": func(d *knownwater.Trial) { d.Observations[0].Method = "Nobody's" },
		"bad chart": func(d *knownwater.Trial) { d.Methods[0].Swatches = nil },
		"backwards": func(d *knownwater.Trial) { d.Observations[1].Seen.Low = 99 },
	} {
		d := dataset(t)
		change(&d)
		if _, err := s.ImportTrial(ctx, owner, d, "x", "y"); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	d := dataset(t)
	d.Observations[0].Count = 2e6
	_, err := s.ImportTrial(ctx, owner, d, "x", "y")
	wantRefusal(t, err, knownwater.TooLarge)
	_, err = s.ImportTrial(ctx, s.ines, dataset(t), "x", "y")
	wantRefusal(t, err, knownwater.NotAllowed)
	if ts := must(s.Trials(ctx))(t); len(ts) != 0 {
		t.Errorf("half imported: %+v", ts)
	}
}
