package bench

import (
	"context"
	"encoding/json"
	"reflect"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/report"
	"knownwater/science/plan"
)

func TestLifeOfATrial(t *testing.T) {
	s := newShed(t)
	p := s.plan()
	r := must(s.NewTrial(ctx, owner, Plan{Title: "first idea"}))(t)
	_, err := s.SealPlan(ctx, owner, r.ID)
	wantFault(t, err, "methods")
	r = must(s.SavePlan(ctx, owner, r.ID, p))(t)
	if !reflect.DeepEqual(r.Plan.Knowns, p.Knowns) || r.State != Planned {
		t.Errorf("saved plan: %+v", r.Plan)
	}
	_, err = s.Findings(ctx, owner, r.ID, FindingsOptions{})
	wantRefusal(t, err, knownwater.WrongState)
	_, err = s.Labels(ctx, r.ID, 0)
	wantRefusal(t, err, knownwater.WrongState)

	r = must(s.SealPlan(ctx, owner, r.ID))(t)
	if r.State != SealedUp || r.SealedAt == nil || len(r.Key.Digest) != 64 {
		t.Errorf("sealed: %+v", r)
	}
	_, err = s.SavePlan(ctx, owner, r.ID, p)
	wantRefusal(t, err, knownwater.WrongState)
	wantRefusal(t, s.DropTrial(ctx, owner, r.ID), knownwater.WrongState)
	_, err = s.Findings(ctx, owner, r.ID, FindingsOptions{})
	wantRefusal(t, err, knownwater.Sealed)
	_, err = s.KeyText(ctx, owner, r.ID)
	wantRefusal(t, err, knownwater.Sealed)

	// 2 methods × (2 blanks + 2 × 2 levels) + duplicates and checks; the card is read by two.
	n := s.readAll(r.ID, s.ines, s.tomo)
	r = must(s.Trial(ctx, owner, r.ID))(t)
	if r.State != Running || n != r.Progress.Planned || r.Progress.Taken != n || !r.Progress.StopMet {
		t.Errorf("after %d readings: %s, %+v", n, r.State, r.Progress)
	}
	_, err = s.Finish(ctx, owner, r.ID)
	wantRefusal(t, err, knownwater.WrongState)
	r = must(s.OpenKey(ctx, owner, r.ID, ""))(t)
	if r.State != Opened || r.Key.Early || r.Key.Readings != n || r.Key.Opened.Name != "Olive" {
		t.Errorf("opened: %+v", r.Key)
	}
	if !reflect.DeepEqual(r.Plan.Knowns, p.Knowns) || r.Plan.Seed != p.Seed {
		t.Errorf("the open key tells %+v", r.Plan)
	}
	if again := must(s.OpenKey(ctx, owner, r.ID, "again"))(t); !reflect.DeepEqual(again, r) {
		t.Errorf("opening again changed %+v to %+v", r, again)
	}
	r = must(s.Finish(ctx, owner, r.ID))(t)
	run := must(s.Run(ctx, s.ines, r.ID, 1))(t)
	_, err = s.CorrectReading(ctx, s.ines, run.Vials[0].Mine[0].ID, NewReading{Key: newKey(), Text: "2.5"}, "typing slip")
	wantRefusal(t, err, knownwater.WrongState)

	var what []string
	for _, e := range must(s.History(ctx, r.ID))(t) {
		what = append(what, e.What)
	}
	if got := strings.Join(what, "; "); got != "began the plan; sealed plan and key; opened the key; finished the trial" {
		t.Errorf("history: %s", got)
	}
}

// TestDigestCanBeChecked: what KeyText gives after opening is what was digested
// when the key was sealed.
func TestDigestCanBeChecked(t *testing.T) {
	s := newShed(t)
	p := s.plan()
	p.Seed = 0 // drawn
	r := s.sealed(p)
	must(s.OpenKey(ctx, owner, r.ID, "to check the digest"))(t)
	text := must(s.KeyText(ctx, owner, r.ID))(t)
	if store.Digest(text) != r.Key.Digest {
		t.Errorf("digest %s, want %s of\n%s", store.Digest(text), r.Key.Digest, text)
	}
	if got := must(s.Trial(ctx, owner, r.ID))(t); got.Plan.Seed == 0 || got.Plan.Seed >= 1<<53 {
		t.Errorf("drawn seed %d", got.Plan.Seed)
	}
	// The same plan with the drawn seed lays out the same key.
	vials := 0
	var key []keyRow
	if err := json.Unmarshal([]byte(strings.SplitN(text, "\n", 3)[1]), &key); err != nil {
		t.Fatal(err)
	}
	err := s.read(ctx, func(x tx) error {
		whole, err := x.look(must(s.Trial(ctx, owner, r.ID))(t).Plan)
		if err != nil {
			return err
		}
		laid, err := plan.Lay(whole.design(), whole.Seed)
		for i, v := range laid {
			if v.Code != key[i].Code || p.Knowns[v.Known].Label != key[i].Known {
				t.Errorf("vial %d: %+v, key %+v", i, v, key[i])
			}
		}
		vials = len(laid)
		return err
	})
	if err != nil || vials != len(key) || vials == 0 {
		t.Errorf("%d vials, %d in the key, %v", vials, len(key), err)
	}
}

func TestOpeningEarly(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	run := must(s.Run(ctx, s.ines, r.ID, 0))(t)
	must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: run.Vials[0].ID, Text: seen(method(run, run.Vials[0].Method))}))(t)
	_, err := s.OpenKey(ctx, owner, r.ID, "  ")
	wantFault(t, err, "why")
	_, err = s.OpenKey(ctx, s.ines, r.ID, "curious")
	wantRefusal(t, err, knownwater.NotAllowed)
	r = must(s.OpenKey(ctx, owner, r.ID, "the club meets tonight"))(t)
	if !r.Key.Early || r.Key.Why != "the club meets tonight" || r.Key.Readings != 1 {
		t.Errorf("opened early: %+v", r.Key)
	}
	must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: run.Vials[1].ID, Text: seen(method(run, run.Vials[1].Method))}))(t)
	st := must(s.Findings(ctx, owner, r.ID, FindingsOptions{}))(t)
	if !st.Unfinished || st.Trial.Key.After != 1 {
		t.Errorf("standing: unfinished %t, after %d", st.Unfinished, st.Trial.Key.After)
	}
	if notes := strings.Join(st.Notes, "\n"); !strings.Contains(notes, "opened early, after 1 of") || !strings.Contains(notes, "the club meets tonight") || !strings.Contains(notes, "1 readings or corrections came in after") {
		t.Errorf("notes: %s", notes)
	}
	late := must(s.Readings(ctx, owner, r.ID, ReadingFilter{}))(t)
	if late[0].AfterKey || !late[1].AfterKey {
		t.Errorf("after the key: %t, %t", late[0].AfterKey, late[1].AfterKey)
	}
	// A reader, who may have vials still to read, waits for the end.
	_, err = s.Findings(ctx, s.ines, r.ID, FindingsOptions{})
	wantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.KeyText(ctx, s.ines, r.ID)
	wantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.Readings(ctx, s.ines, r.ID, ReadingFilter{})
	wantRefusal(t, err, knownwater.NotAllowed)
	if p := must(s.Trial(ctx, s.ines, r.ID))(t).Plan; p.Knowns != nil || p.Seed != 0 {
		t.Errorf("a reader of an unfinished trial sees %+v", p)
	}
	must(s.Finish(ctx, owner, r.ID))(t)
	must(s.Findings(ctx, s.ines, r.ID, FindingsOptions{}))(t)
	if p := must(s.Trial(ctx, s.ines, r.ID))(t).Plan; len(p.Knowns) != 3 {
		t.Errorf("a reader of a finished trial sees %+v", p)
	}
}

// TestNobodySeesTheKey looks for what only the key knows in everything that can
// be asked for while it is sealed.
func TestNobodySeesTheKey(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	s.readAll(r.ID, s.tomo)
	asked := map[string]any{
		"trial, owner":  must(s.Trial(ctx, owner, r.ID))(t),
		"trial, reader": must(s.Trial(ctx, s.ines, r.ID))(t),
		"trials":        must(s.Trials(ctx))(t),
		"sealing":       r,
		"labels":        must(s.Labels(ctx, r.ID, 0))(t),
		"run sheet":     must(s.RunSheet(ctx, r.ID, 0))(t),
		"run 1":         must(s.Run(ctx, s.ines, r.ID, 1))(t),
		"run 2":         must(s.Run(ctx, s.tomo, r.ID, 2))(t),
		"my trials":     must(s.MyTrials(ctx, s.ines))(t),
		"history":       must(s.History(ctx, r.ID))(t),
		"readings":      must(s.SealedReadings(ctx, owner, r.ID, ReadingFilter{All: true}))(t),
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
	if text, _ := json.Marshal(must(s.Run(ctx, s.ines, r.ID, 1))(t)); strings.Contains(string(text), `"mine"`) {
		t.Errorf("Ines, who has read nothing, sees %s", text)
	}
	_, err := s.Readings(ctx, owner, r.ID, ReadingFilter{})
	wantRefusal(t, err, knownwater.Sealed)
	_, err = s.TrialData(ctx, owner, r.ID, FindingsOptions{})
	wantRefusal(t, err, knownwater.Sealed)
	level := 6.9
	_, err = s.SealedReadings(ctx, owner, r.ID, ReadingFilter{Level: &level})
	wantRefusal(t, err, knownwater.Sealed)
	_, err = s.SealedReadings(ctx, s.ines, r.ID, ReadingFilter{})
	wantRefusal(t, err, knownwater.NotAllowed)
	both := owner
	both.Person = s.ines.Person // an owner who still has vials to read
	_, err = s.SealedReadings(ctx, both, r.ID, ReadingFilter{})
	wantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.PrepList(ctx, s.ines, r.ID)
	wantRefusal(t, err, knownwater.NotAllowed)
}

// TestRunVialHasNoPlaceForTheKey: the type itself cannot carry it.
func TestRunVialHasNoPlaceForTheKey(t *testing.T) {
	want := words("ID Code Order Method Technique Lot Dilution Start Read Started Mine")
	var have []string
	for _, f := range reflect.VisibleFields(reflect.TypeFor[RunVial]()) {
		have = append(have, f.Name)
	}
	if !reflect.DeepEqual(have, want) {
		t.Errorf("RunVial has %v; think of the key before you add to %v", have, want)
	}
}

func TestPrepListIsRecorded(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	list := must(s.PrepList(ctx, owner, r.ID))(t)
	total := 0
	for i, row := range list {
		if row.Known != s.plan().Knowns[i] || row.Vials == 0 {
			t.Errorf("row %d: %+v", i, row)
		}
		total += row.Vials
	}
	r = must(s.Trial(ctx, owner, r.ID))(t)
	if total != r.Progress.Vials {
		t.Errorf("%d vials on the list, %d in the trial", total, r.Progress.Vials)
	}
	if len(r.Key.Seen) != 1 || r.Key.Seen[0].Name != "Olive" {
		t.Errorf("looks at the key: %+v", r.Key.Seen)
	}
}

func TestRunSheet(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	rows := must(s.RunSheet(ctx, r.ID, 1))(t)
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
	if all := must(s.Labels(ctx, r.ID, 0))(t); len(all) <= len(rows) {
		t.Errorf("%d labels in all, %d of session 1", len(all), len(rows))
	}
}

func TestCheckPlan(t *testing.T) {
	s := newShed(t)
	fs, doubts, err := s.CheckPlan(ctx, s.plan())
	if len(fs) > 0 || err != nil {
		t.Errorf("faults %v, %v", fs, err)
	}
	for _, want := range []string{"at least 6 are wanted", "diluted at 1 level(s) only", "Pocket meter: no lot is named", "fewer than three no bend"} {
		if !strings.Contains(strings.Join(report.SayAll(doubts), "\n"), want) {
			t.Errorf("doubts %v, want %q", doubts, want)
		}
	}
	expired := must(s.SaveLot(ctx, owner, knownwater.Lot{MethodID: s.card.ID, Code: "old", ExpiresOn: "2026-02-28"}))(t)
	for column, change := range map[string]func(*Plan){
		"scale":       func(p *Plan) { p.Scale.Unit = "?" },
		"knowns":      func(p *Plan) { p.Knowns[1].UShared = 5 },
		"methods":     func(p *Plan) { p.Methods[1].VersionID = s.card.VersionID },
		"readers":     func(p *Plan) { p.Readers[1] = p.Readers[0] },
		"sessions":    func(p *Plan) { p.Sessions = 0 },
		"replicates":  func(p *Plan) { p.Replicates = -1 },
		"blanks":      func(p *Plan) { p.Blanks = -1 },
		"check":       func(p *Plan) { p.Check = "no such" },
		"duplicates":  func(p *Plan) { p.Duplicates = 5000 },
		"check_every": func(p *Plan) { p.CheckEvery = -1 },
	} {
		p := s.plan()
		change(&p)
		fs, _, err := s.CheckPlan(ctx, p)
		if err != nil {
			t.Errorf("%s: %v", column, err)
			continue
		}
		wantFault(t, fs, column)
		r := must(s.NewTrial(ctx, owner, p))(t)
		_, err = s.SealPlan(ctx, owner, r.ID)
		wantFault(t, err, column)
	}
	p := s.plan()
	p.Methods[0].Lots = []int64{expired.ID}
	fs, _, _ = s.CheckPlan(ctx, p)
	wantFault(t, fs, "methods")
	p = s.plan()
	p.Methods[0].VersionID = 99
	_, _, err = s.CheckPlan(ctx, p)
	wantRefusal(t, err, knownwater.NotFound)
	p = s.plan()
	p.Seed = 1 << 53
	_, err = s.NewTrial(ctx, owner, p)
	wantFault(t, err, "seed")
}

// TestForecastOfAPlan: the bench hands the plan on whole, and stops when it is
// told to.
func TestForecastOfAPlan(t *testing.T) {
	s := newShed(t)
	out := must(s.Forecast(ctx, s.plan(), 2))(t)
	readings := 0
	for _, m := range out.Methods {
		readings += m.Readings
		if len(m.Needs) != 1 || m.Needs[0].Need != "keep it low" {
			t.Errorf("outlook: %+v", m)
		}
	}
	if c := must(s.Costs(ctx, s.plan()))(t); out.Runs != 2 || readings != c.Readings {
		t.Errorf("%d runs, %d readings; the plan has %d", out.Runs, readings, c.Readings)
	}
	gone, cancel := context.WithCancel(ctx)
	time.AfterFunc(100*time.Millisecond, cancel)
	start := time.Now()
	out, err := s.Forecast(gone, s.plan(), 100000)
	if err != nil || out.Runs >= out.Wanted || time.Since(start) > 20*time.Second {
		t.Errorf("stopped after %d of %d runs and %v: %v", out.Runs, out.Wanted, time.Since(start), err)
	}
	p := s.plan()
	p.Sessions = 0
	_, err = s.Forecast(ctx, p, 2)
	wantFault(t, err, "sessions")
}

func TestGuessFromATrial(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	s.readAll(r.ID, s.ines, s.tomo)
	_, err := s.GuessFrom(ctx, owner, r.ID, "Pocket meter")
	wantRefusal(t, err, knownwater.Sealed)
	must(s.OpenKey(ctx, owner, r.ID, ""))(t)
	g := must(s.GuessFrom(ctx, owner, r.ID, "Pocket meter"))(t)
	if g.From != "trial 1" || !(g.Slope < 0.5) { // every reading was 3.4
		t.Errorf("guess: %+v", g)
	}
	_, err = s.GuessFrom(ctx, owner, r.ID, "Nobody's")
	wantRefusal(t, err, knownwater.NotFound)
}

func TestProposeAndCost(t *testing.T) {
	s := newShed(t)
	p := s.plan()
	prop := must(s.ProposeKnowns(ctx, p))(t)
	if len(prop.Knowns) < 5 || !prop.Knowns[0].Blank || len(prop.Why) != len(prop.Knowns) {
		t.Errorf("proposal: %+v", prop)
	}
	p.Knowns, p.Check = prop.Knowns, prop.Knowns[3].Label
	if fs, _, err := s.CheckPlan(ctx, p); len(fs) > 0 || err != nil {
		t.Errorf("the proposal has faults: %v, %v", fs, err)
	}
	c := must(s.Costs(ctx, s.plan()))(t)
	r := s.sealed(s.plan())
	r = must(s.Trial(ctx, owner, r.ID))(t)
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
