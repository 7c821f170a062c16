package trials_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// TestDataSetInAndOut: a data set imported as a trial comes out as it went in.
func TestDataSetInAndOut(t *testing.T) {
	s := benchtest.New(t)
	d := benchtest.Dataset(t)
	r := benchtest.Must(s.ImportTrial(ctx, benchtest.Owner, trials.DataSet{Data: d, Title: "Spring trial", Source: "readings.csv"}))(t)
	if r.State != trials.Finished || !r.Imported || r.Source != "readings.csv" || r.Progress.Taken != 11 || !r.Progress.StopMet {
		t.Errorf("trial: %+v", r)
	}
	got := benchtest.Must(s.TrialData(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t)
	if diff := cmp.Diff(d, got, cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("what came out differs (-in +out):\n%s", diff)
	}
	benchtest.Must(s.Findings(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t)
	var readers []string
	for _, id := range r.Plan.Readers {
		readers = append(readers, benchtest.Must(s.Person(ctx, id))(t).Name)
	}
	if strings.Join(readers, " ") != "Ines Kai" {
		t.Errorf("readers: %q", readers)
	}
	needs := benchtest.Must(s.Needs(ctx))(t) // the bench's own, and the data set's
	if len(needs) != 2 || len(r.Plan.Needs) != 1 || needs[1].ID != r.Plan.Needs[0] || needs[1].Need.Name != "spot a rise" || needs[1].Scale != benchtest.Nitrate {
		t.Errorf("needs: %+v, the plan's %v", needs, r.Plan.Needs)
	}
	_, err := s.RunSheet(ctx, r.ID, 0)
	benchtest.WantRefusal(t, err, knownwater.WrongState)

	// Once more: methods, people and lots are the same ones.
	before := benchtest.Must(s.Methods(ctx))(t)
	benchtest.Must(s.ImportTrial(ctx, benchtest.Owner, trials.DataSet{Data: d, Title: "Spring trial again", Source: "readings.csv"}))(t)
	if after := benchtest.Must(s.Methods(ctx))(t); len(after) != len(before) {
		t.Errorf("%d methods after the second import, %d after the first", len(after), len(before))
	}
	if got := benchtest.Must(s.Needs(ctx))(t); len(got) != 2 {
		t.Errorf("needs after the second import: %+v", got)
	}
	d.Needs[0].High = 20
	for _, title := range []string{"Autumn trial", "Autumn trial again"} {
		benchtest.Must(s.ImportTrial(ctx, benchtest.Owner, trials.DataSet{Data: d, Title: title, Source: "readings.csv"}))(t)
	}
	if got := benchtest.Must(s.Needs(ctx))(t); len(got) != 3 || got[2].Need.Name != "spot a rise (Autumn trial)" || got[2].Need.High != 20 {
		t.Errorf("needs after one of the same name and another range: %+v", got)
	}
	if ps := benchtest.Must(s.People(ctx))(t); len(ps) != 4 { // Ines, Tomo, Wren; Kai is new
		t.Errorf("people: %+v", ps)
	}
}

// TestDataSetWithUnitsOfItsOwn: a card that shows µmol/L keeps its own numbers on
// the bench, and its readings come out on the trial's scale all the same.
func TestDataSetWithUnitsOfItsOwn(t *testing.T) {
	s := benchtest.New(t)
	d := benchtest.Dataset(t)
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
			o.Seen = benchtest.Must(reading.Understand(o.Text, *card))(t)
		}
	}
	r := benchtest.Must(s.ImportTrial(ctx, benchtest.Owner, trials.DataSet{Data: d, Title: "In moles", Source: "readings.csv"}))(t)
	got := benchtest.Must(s.TrialData(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t)
	if diff := cmp.Diff(d, got, cmpopts.EquateEmpty(), cmpopts.EquateApprox(1e-12, 0)); diff != "" {
		t.Errorf("what came out differs (-in +out):\n%s", diff)
	}
	kept := benchtest.Must(s.MethodVersion(ctx, r.Plan.Methods[0].VersionID))(t).Spec
	if kept.Scale.Unit != "umol/L" || kept.Swatches[2].Value != 200 || kept.Dilution.Over != 200 {
		t.Errorf("the card is kept as %+v", kept)
	}
}

// TestImportedMethodOfTheSameName: it does not become the next version of the
// bench's own method, and stays off the lists.
func TestImportedMethodOfTheSameName(t *testing.T) {
	s := benchtest.New(t)
	d := benchtest.Dataset(t)
	d.Methods[0].Name = s.Card.Spec.Name
	for i := range d.Observations {
		if d.Observations[i].Method == "Birch card" {
			d.Observations[i].Method = s.Card.Spec.Name
		}
	}
	r := benchtest.Must(s.ImportTrial(ctx, benchtest.Owner, trials.DataSet{Data: d, Title: "Other card", Source: "readings.csv"}))(t)
	if m := benchtest.Must(s.Method(ctx, s.Card.ID))(t); m.Version != 1 {
		t.Errorf("the bench's own card is at version %d", m.Version)
	}
	retired := 0
	for _, m := range benchtest.Must(s.Methods(ctx))(t) {
		if m.Retired && m.Spec.Name == s.Card.Spec.Name {
			retired++
		}
	}
	if retired != 1 {
		t.Errorf("%d retired cards, want 1", retired)
	}
	got := benchtest.Must(s.TrialData(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t)
	if len(got.Methods[0].Swatches) != 4 {
		t.Errorf("the trial's own card: %+v", got.Methods[0])
	}
}

func TestImportRefuses(t *testing.T) {
	s := benchtest.New(t)
	for name, change := range map[string]func(*knownwater.Trial){
		"no text":   func(d *knownwater.Trial) { d.Observations[0].Text = "" },
		"no count":  func(d *knownwater.Trial) { d.Observations[0].Count = 0 },
		"no method": func(d *knownwater.Trial) { d.Observations[0].Method = "Nobody's" },
		"bad chart": func(d *knownwater.Trial) { d.Methods[0].Swatches = nil },
		"backwards": func(d *knownwater.Trial) { d.Observations[1].Seen.Low = 99 },
	} {
		d := benchtest.Dataset(t)
		change(&d)
		if _, err := s.ImportTrial(ctx, benchtest.Owner, trials.DataSet{Data: d, Title: "x", Source: "y"}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	d := benchtest.Dataset(t)
	d.Observations[0].Count = 2e6
	_, err := s.ImportTrial(ctx, benchtest.Owner, trials.DataSet{Data: d, Title: "x", Source: "y"})
	benchtest.WantRefusal(t, err, knownwater.TooLarge)
	_, err = s.ImportTrial(ctx, s.Ines, trials.DataSet{Data: benchtest.Dataset(t), Title: "x", Source: "y"})
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	if ts := benchtest.Must(s.Trials(ctx))(t); len(ts) != 0 {
		t.Errorf("half imported: %+v", ts)
	}
}
