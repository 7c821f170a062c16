package trials_test

import (
	"context"
	"encoding/json"
	"reflect"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
	"knownwater/report"
)

func TestLifeOfATrial(t *testing.T) {
	s := benchtest.New(t)
	p := s.Plan()
	r := benchtest.Must(s.NewTrial(ctx, benchtest.Owner, trials.Plan{Title: "first idea"}))(t)
	_, err := s.SealPlan(ctx, benchtest.Owner, r.ID)
	benchtest.WantFault(t, err, "methods")
	r = benchtest.Must(s.SavePlan(ctx, benchtest.Owner, r.ID, p))(t)
	if !reflect.DeepEqual(r.Plan.Knowns, p.Knowns) || r.State != trials.Planned {
		t.Errorf("saved plan: %+v", r.Plan)
	}
	_, err = s.Findings(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{})
	benchtest.WantRefusal(t, err, knownwater.WrongState)
	_, err = s.Labels(ctx, r.ID, 0)
	benchtest.WantRefusal(t, err, knownwater.WrongState)

	r = benchtest.Must(s.SealPlan(ctx, benchtest.Owner, r.ID))(t)
	if r.State != trials.SealedUp || r.SealedAt == nil || len(r.Key.Digest) != 64 {
		t.Errorf("sealed: %+v", r)
	}
	_, err = s.SavePlan(ctx, benchtest.Owner, r.ID, p)
	benchtest.WantRefusal(t, err, knownwater.WrongState)
	benchtest.WantRefusal(t, s.DropTrial(ctx, benchtest.Owner, r.ID), knownwater.WrongState)
	_, err = s.Findings(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{})
	benchtest.WantRefusal(t, err, knownwater.Sealed)
	_, err = s.Seal(ctx, benchtest.Owner, r.ID)
	benchtest.WantRefusal(t, err, knownwater.Sealed)

	// 2 methods × (2 blanks + 2 × 2 levels) + duplicates and checks; the card is read by two.
	n := s.ReadAll(r.ID, s.Ines, s.Tomo)
	r = benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t)
	if r.State != trials.Running || n != r.Progress.Planned || r.Progress.Taken != n || !r.Progress.StopMet {
		t.Errorf("after %d readings: %s, %+v", n, r.State, r.Progress)
	}
	_, err = s.Finish(ctx, benchtest.Owner, r.ID)
	benchtest.WantRefusal(t, err, knownwater.WrongState)
	r = benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, ""))(t)
	if r.State != trials.Opened || r.Key.Early || r.Key.Readings != n || r.Key.Opened.Name != "Olive" {
		t.Errorf("opened: %+v", r.Key)
	}
	if !reflect.DeepEqual(r.Plan.Knowns, p.Knowns) || r.Plan.Seed != p.Seed {
		t.Errorf("the open key tells %+v", r.Plan)
	}
	if again := benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "again"))(t); !reflect.DeepEqual(again, r) {
		t.Errorf("opening again changed %+v to %+v", r, again)
	}
	r = benchtest.Must(s.Finish(ctx, benchtest.Owner, r.ID))(t)
	run := benchtest.Must(s.Run(ctx, s.Ines, r.ID, 1))(t)
	_, err = s.CorrectReading(ctx, s.Ines, run.Vials[0].Mine[0].ID, trials.NewReading{Key: benchtest.NewKey(), Text: "2.5"}, "typing slip")
	benchtest.WantRefusal(t, err, knownwater.WrongState)

	var what []string
	for _, e := range benchtest.Must(s.History(ctx, r.ID))(t) {
		what = append(what, e.What)
	}
	if got := strings.Join(what, "; "); got != "began the plan; sealed plan and key; opened the key; finished the trial" {
		t.Errorf("history: %s", got)
	}
}

// TestSealCanBeChecked: the key that is open after all is the one that was
// committed to when it was shut, and the commitment changes with any of it.
func TestSealCanBeChecked(t *testing.T) {
	s := benchtest.New(t)
	p := s.Plan()
	p.Seed = 0 // drawn
	r := s.Sealed(p)
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "to check the seal"))(t)
	seal := benchtest.Must(s.Seal(ctx, benchtest.Owner, r.ID))(t)
	if seal == nil || seal.Commitment != r.Key.Digest {
		t.Fatalf("seal %+v, committed to %s", seal, r.Key.Digest)
	}
	if fs := seal.Verify(knownwater.Trial{}); len(fs) > 0 {
		t.Error(fs)
	}
	other := s.Sealed(p)
	if other.Key.Digest == r.Key.Digest {
		t.Error("two trials have one commitment")
	}
	if got := benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t); got.Plan.Seed == 0 || got.Plan.Seed >= 1<<53 {
		t.Errorf("drawn seed %d", got.Plan.Seed)
	}
	// The same plan with the drawn seed lays out the same key.
	var key []struct{ Code, Known string }
	if err := json.Unmarshal([]byte(seal.Key), &key); err != nil {
		t.Fatal(err)
	}
	laid, err := s.Lay(ctx, benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t).Plan)
	for i, v := range laid {
		if v.Code != key[i].Code || p.Knowns[v.Known].Label != key[i].Known {
			t.Errorf("vial %d: %+v, key %+v", i, v, key[i])
		}
	}
	if err != nil || len(laid) != len(key) || len(laid) == 0 {
		t.Errorf("%d len(laid), %d in the key, %v", len(laid), len(key), err)
	}
}

func TestOpeningEarly(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	run := benchtest.Must(s.Run(ctx, s.Ines, r.ID, 0))(t)
	benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: run.Vials[0].ID, Text: benchtest.Seen(benchtest.MethodOf(run, run.Vials[0].Method))}))(t)
	_, err := s.OpenKey(ctx, benchtest.Owner, r.ID, "  ")
	benchtest.WantFault(t, err, "why")
	_, err = s.OpenKey(ctx, s.Ines, r.ID, "curious")
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	r = benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "the club meets tonight"))(t)
	if !r.Key.Early || r.Key.Why != "the club meets tonight" || r.Key.Readings != 1 {
		t.Errorf("opened early: %+v", r.Key)
	}
	benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: run.Vials[1].ID, Text: benchtest.Seen(benchtest.MethodOf(run, run.Vials[1].Method))}))(t)
	st := benchtest.Must(s.Findings(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t)
	if !st.Unfinished || st.Trial.Key.After != 1 {
		t.Errorf("standing: unfinished %t, after %d", st.Unfinished, st.Trial.Key.After)
	}
	if notes := strings.Join(report.SayAll(st.Notes), "\n"); !strings.Contains(notes, "opened early, after 1 of") || !strings.Contains(notes, "the club meets tonight") || !strings.Contains(notes, "1 entry came in after") {
		t.Errorf("notes: %s", notes)
	}
	late := benchtest.Must(s.Readings(ctx, benchtest.Owner, r.ID, trials.ReadingFilter{}))(t)
	if late[0].AfterKey || !late[1].AfterKey {
		t.Errorf("after the key: %t, %t", late[0].AfterKey, late[1].AfterKey)
	}
	// A reader, who may have vials still to read, waits for the end.
	_, err = s.Findings(ctx, s.Ines, r.ID, trials.FindingsOptions{})
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.Seal(ctx, s.Ines, r.ID)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.Readings(ctx, s.Ines, r.ID, trials.ReadingFilter{})
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	if p := benchtest.Must(s.Trial(ctx, s.Ines, r.ID))(t).Plan; p.Knowns != nil || p.Seed != 0 {
		t.Errorf("a reader of an unfinished trial sees %+v", p)
	}
	benchtest.Must(s.Finish(ctx, benchtest.Owner, r.ID))(t)
	benchtest.Must(s.Findings(ctx, s.Ines, r.ID, trials.FindingsOptions{}))(t)
	if p := benchtest.Must(s.Trial(ctx, s.Ines, r.ID))(t).Plan; len(p.Knowns) != 3 {
		t.Errorf("a reader of a finished trial sees %+v", p)
	}
}

// TestNobodySeesTheKey looks for what only the key knows in everything that can
// be asked for while it is sealed.
func TestNobodySeesTheKey(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	s.ReadAll(r.ID, s.Tomo)
	asked := map[string]any{
		"trial, owner":  benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t),
		"trial, reader": benchtest.Must(s.Trial(ctx, s.Ines, r.ID))(t),
		"trials":        benchtest.Must(s.Trials(ctx))(t),
		"sealing":       r,
		"labels":        benchtest.Must(s.Labels(ctx, r.ID, 0))(t),
		"run sheet":     benchtest.Must(s.RunSheet(ctx, r.ID, 0))(t),
		"run 1":         benchtest.Must(s.Run(ctx, s.Ines, r.ID, 1))(t),
		"run 2":         benchtest.Must(s.Run(ctx, s.Tomo, r.ID, 2))(t),
		"my trials":     benchtest.Must(s.MyTrials(ctx, s.Ines))(t),
		"history":       benchtest.Must(s.History(ctx, r.ID))(t),
		"readings":      benchtest.Must(s.SealedReadings(ctx, benchtest.Owner, r.ID, trials.ReadingFilter{All: true}))(t),
	}
	for name, v := range asked {
		text, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		for _, secret := range []string{"stock one", "stock two", "6.9", "1.7,", "salt mix", `"seed":7`, `:"duplicate"`, `:"check"`, `"blank"`} {
			if strings.Contains(string(text), secret) {
				t.Errorf("%s tells %q: %s", name, secret, text)
			}
		}
	}
	// Another's reading is nowhere in a reader's run.
	if text, _ := json.Marshal(benchtest.Must(s.Run(ctx, s.Ines, r.ID, 1))(t)); strings.Contains(string(text), `"mine"`) {
		t.Errorf("Ines, who has read nothing, sees %s", text)
	}
	_, err := s.Readings(ctx, benchtest.Owner, r.ID, trials.ReadingFilter{})
	benchtest.WantRefusal(t, err, knownwater.Sealed)
	_, err = s.TrialData(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{})
	benchtest.WantRefusal(t, err, knownwater.Sealed)
	level := 6.9
	_, err = s.SealedReadings(ctx, benchtest.Owner, r.ID, trials.ReadingFilter{Level: &level})
	benchtest.WantRefusal(t, err, knownwater.Sealed)
	_, err = s.SealedReadings(ctx, s.Ines, r.ID, trials.ReadingFilter{})
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	both := benchtest.Owner
	both.Person = s.Ines.Person // an owner who still has vials to read
	_, err = s.SealedReadings(ctx, both, r.ID, trials.ReadingFilter{})
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.PrepList(ctx, s.Ines, r.ID)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
}

// TestRunVialHasNoPlaceForTheKey: the type itself cannot carry it.
func TestRunVialHasNoPlaceForTheKey(t *testing.T) {
	want := strings.Fields("ID Code Order Method Technique Lot Dilution Start Read Started Mine")
	var have []string
	for _, f := range reflect.VisibleFields(reflect.TypeFor[trials.RunVial]()) {
		have = append(have, f.Name)
	}
	if !reflect.DeepEqual(have, want) {
		t.Errorf("RunVial has %v; think of the key before you add to %v", have, want)
	}
}

func TestPrepListIsRecorded(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	list := benchtest.Must(s.PrepList(ctx, benchtest.Owner, r.ID))(t)
	total := 0
	for i, row := range list {
		if row.Known != s.Plan().Knowns[i] || row.Vials == 0 {
			t.Errorf("row %d: %+v", i, row)
		}
		total += row.Vials
	}
	r = benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t)
	if total != r.Progress.Vials {
		t.Errorf("%d vials on the list, %d in the trial", total, r.Progress.Vials)
	}
	if len(r.Key.Seen) != 1 || r.Key.Seen[0].Name != "Olive" {
		t.Errorf("looks at the key: %+v", r.Key.Seen)
	}
}

func TestRunSheet(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	rows := benchtest.Must(s.RunSheet(ctx, r.ID, 1))(t)
	together := 0
	for i, row := range rows {
		if row.Session != 1 || i > 0 && row.Order <= rows[i-1].Order || row.Read < row.Start {
			t.Errorf("row %d: %+v", i, row)
		}
		if row.Method == "Violet card" {
			if strings.Join(row.Readers, "+") != "Ines+Tomo" || row.Lot != "A1" {
				t.Errorf("card: %+v", row)
			}
			together++
		} else if len(row.Readers) != 1 || row.Lot != "" {
			t.Errorf("meter: %+v", row)
		}
	}
	if together == 0 {
		t.Error("no vial of the card")
	}
	if all := benchtest.Must(s.Labels(ctx, r.ID, 0))(t); len(all) <= len(rows) {
		t.Errorf("%d labels in all, %d of session 1", len(all), len(rows))
	}
}

func TestCheckPlan(t *testing.T) {
	s := benchtest.New(t)
	fs, doubts, err := s.ExaminePlan(ctx, s.Plan())
	if len(fs) > 0 || err != nil {
		t.Errorf("faults %v, %v", fs, err)
	}
	for _, want := range []string{"at least 6 are wanted", "diluted at 1 level only", "Pocket meter: no lot is named", "fewer than three no bend"} {
		if !strings.Contains(strings.Join(report.SayAll(doubts), "\n"), want) {
			t.Errorf("doubts %v, want %q", doubts, want)
		}
	}
	expired := benchtest.Must(s.SaveLot(ctx, benchtest.Owner, knownwater.Lot{MethodID: s.Card.ID, Code: "old", ExpiresOn: "2026-02-28"}))(t)
	for column, change := range map[string]func(*trials.Plan){
		"scale":       func(p *trials.Plan) { p.Scale.Unit = "?" },
		"knowns":      func(p *trials.Plan) { p.Knowns[1].UShared = 5 },
		"methods":     func(p *trials.Plan) { p.Methods[1].VersionID = s.Card.VersionID },
		"readers":     func(p *trials.Plan) { p.Readers[1] = p.Readers[0] },
		"sessions":    func(p *trials.Plan) { p.Sessions = 0 },
		"replicates":  func(p *trials.Plan) { p.Replicates = -1 },
		"blanks":      func(p *trials.Plan) { p.Blanks = -1 },
		"check":       func(p *trials.Plan) { p.Check = "no such" },
		"duplicates":  func(p *trials.Plan) { p.Duplicates = 5000 },
		"check_every": func(p *trials.Plan) { p.CheckEvery = -1 },
	} {
		p := s.Plan()
		change(&p)
		fs, _, err := s.ExaminePlan(ctx, p)
		if err != nil {
			t.Errorf("%s: %v", column, err)
			continue
		}
		benchtest.WantFault(t, fs, column)
		r := benchtest.Must(s.NewTrial(ctx, benchtest.Owner, p))(t)
		_, err = s.SealPlan(ctx, benchtest.Owner, r.ID)
		benchtest.WantFault(t, err, column)
	}
	p := s.Plan()
	p.Methods[0].Lots = []int64{expired.ID}
	fs, _, _ = s.ExaminePlan(ctx, p)
	benchtest.WantFault(t, fs, "methods")
	p = s.Plan()
	p.Methods[0].VersionID = 99
	_, _, err = s.ExaminePlan(ctx, p)
	benchtest.WantRefusal(t, err, knownwater.NotFound)
	p = s.Plan()
	p.Seed = 1 << 53
	_, err = s.NewTrial(ctx, benchtest.Owner, p)
	benchtest.WantFault(t, err, "seed")
}

// TestForecastOfAPlan: the bench hands the plan on whole, and stops when it is
// told to.
func TestForecastOfAPlan(t *testing.T) {
	s := benchtest.New(t)
	out := benchtest.Must(s.Forecast(ctx, s.Plan(), 2))(t)
	readings := 0
	for _, m := range out.Methods {
		readings += m.Readings
		if len(m.Needs) != 1 || m.Needs[0].Need != "keep it low" {
			t.Errorf("outlook: %+v", m)
		}
	}
	if c := benchtest.Must(s.Costs(ctx, s.Plan()))(t); out.Runs != 2 || readings != c.Readings {
		t.Errorf("%d runs, %d readings; the plan has %d", out.Runs, readings, c.Readings)
	}
	gone, cancel := context.WithCancel(ctx)
	time.AfterFunc(100*time.Millisecond, cancel)
	out, err := s.Forecast(gone, s.Plan(), 100000)
	if err != nil || out.Runs >= out.Wanted {
		t.Errorf("stopped after %d of %d runs: %v", out.Runs, out.Wanted, err)
	}
	p := s.Plan()
	p.Sessions = 0
	_, err = s.Forecast(ctx, p, 2)
	benchtest.WantFault(t, err, "sessions")
}

func TestProposeAndCost(t *testing.T) {
	s := benchtest.New(t)
	p := s.Plan()
	prop := benchtest.Must(s.ProposeKnowns(ctx, p))(t)
	if len(prop.Knowns) < 5 || !prop.Knowns[0].Blank || len(prop.Why) != len(prop.Knowns) {
		t.Errorf("proposal: %+v", prop)
	}
	p.Knowns, p.Check = prop.Knowns, prop.Knowns[3].Label
	if fs, _, err := s.ExaminePlan(ctx, p); len(fs) > 0 || err != nil {
		t.Errorf("the proposal has faults: %v, %v", fs, err)
	}
	c := benchtest.Must(s.Costs(ctx, s.Plan()))(t)
	r := s.Sealed(s.Plan())
	r = benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t)
	if c.Vials != r.Progress.Vials || c.Readings != r.Progress.Planned {
		t.Errorf("costs %d vials and %d readings; sealed %+v", c.Vials, c.Readings, r.Progress)
	}
	card := c.Methods[0]
	if card.TestsLeft != 50 || card.ToBuy != 0 || c.Methods[1].TestsLeft != -1 || c.Methods[1].ToBuy != 1 || c.Money != 20 {
		t.Errorf("costs: %+v", c)
	}
	if len(c.Sessions) != 2 || c.Hours <= 0.2 || c.Hours > 6 {
		t.Errorf("hours: %g, %+v", c.Hours, c.Sessions)
	}
}
