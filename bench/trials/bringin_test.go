package trials_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
	"knownwater/science/reading"
	"knownwater/sqlite"
)

// large is a data set of so many readings, each of a vial of its own, with a method,
// readers and lots that no test bench has.
func large(t testing.TB, readings int) knownwater.Trial {
	t.Helper()
	card := knownwater.Method{Name: "Larch card", Kind: knownwater.Chart, Swatches: []float64{0, 3, 6, 12}, AtShare: 0.25}
	d := knownwater.Trial{Scale: benchtest.Nitrate, Water: benchtest.Seaward, WaterStated: true, Methods: []knownwater.Method{card},
		Needs: []knownwater.Need{{Name: "know the harbour", Low: 1, High: 9, Permitted: []knownwater.Permit{{At: 1, Error: 1}}}}}
	texts := []string{"0", "0..3", "3", "3..6", "6", "6..12"}
	for k := range readings {
		text := texts[k%len(texts)]
		seen, err := reading.Understand(text, card)
		if err != nil {
			t.Fatal(err)
		}
		d.Observations = append(d.Observations, knownwater.Observation{Method: card.Name, Level: float64(k % len(texts)), ULevel: 0.02, Text: text, Seen: seen,
			Dilution: 1, Vial: fmt.Sprint("v", k), Reader: fmt.Sprint("Reader ", k%7), Lot: fmt.Sprint("L", k%3), Session: fmt.Sprint(k % 5), Count: 1, Row: k + 2})
	}
	return d
}

// everything is what a bench shows: every row that is exported, and every list.
func everything(t *testing.T, s *benchtest.Shed) string {
	t.Helper()
	var out bytes.Buffer
	if err := s.Export(ctx, benchtest.Owner, io.Discard); err != nil {
		t.Fatal(err)
	}
	for _, tab := range exchangeTables {
		fmt.Fprintln(&out, tab, benchtest.Rows(t, s.Path, tab))
	}
	fmt.Fprintln(&out, benchtest.Must(s.Trials(ctx))(t), benchtest.Must(s.Methods(ctx))(t), benchtest.Must(s.People(ctx))(t), benchtest.Must(s.Needs(ctx))(t))
	return out.String()
}

// exchangeTables are all tables but the book of events.
var exchangeTables = []string{"person", "method", "method_version", "lot", "need", "trial", "known", "vial", "reading"}

// TestNothingHalfDone: while a data set comes in nobody sees anything of it, phones
// take readings in between, and one that is stopped leaves nothing behind.
func TestNothingHalfDone(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	run := benchtest.Must(s.Run(ctx, s.Ines, r.ID, 1))(t)
	shown := func() string {
		return fmt.Sprint(benchtest.Must(s.Trials(ctx))(t)[0].ID, len(benchtest.Must(s.Methods(ctx))(t)), len(benchtest.Must(s.People(ctx))(t)),
			len(benchtest.Must(s.Needs(ctx))(t)), benchtest.Must(s.Method(ctx, s.Card.ID))(t).Trials)
	}
	before, rows := shown(), everything(t, s)
	stop, cancel := context.WithCancel(ctx)
	taken, batches := 0, 0
	d := trials.DataSet{Data: large(t, 4000), Title: "Harbour", Source: "harbour.csv", Done: func(done, of int) {
		batches++
		if now := shown(); now != before {
			t.Errorf("after %d of %d the bench shows %s, was %s", done, of, now, before)
		}
		if taken == 0 {
			v := run.Vials[0]
			benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: benchtest.Seen(benchtest.MethodOf(run, v.Method))}))(t)
			taken++
		}
		var out bytes.Buffer
		if err := s.Export(ctx, benchtest.Owner, &out); err != nil {
			t.Fatal(err)
		}
		if batches == 2 {
			cancel()
		}
	}}
	_, err := s.ImportTrial(stop, benchtest.Owner, d)
	if !errors.Is(err, context.Canceled) || taken != 1 || batches < 2 {
		t.Fatalf("stopped with %v, %d readings taken in %d batches", err, taken, batches)
	}
	for _, tab := range []string{"person", "method", "method_version", "lot", "need", "known", "vial"} {
		if now := benchtest.Rows(t, s.Path, tab); !bytes.Contains([]byte(rows), []byte(now)) {
			t.Errorf("%s changed:\n%s", tab, now)
		}
	}
	if n := len(benchtest.Must(s.Trials(ctx))(t)); n != 1 {
		t.Errorf("%d trials", n)
	}
	if got := benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t).Progress.Taken; got != 1 {
		t.Errorf("%d readings of the trial that goes on", got)
	}
	d.Done = nil
	x := benchtest.Must(s.ImportTrial(ctx, benchtest.Owner, d))(t) // again, to its end
	if x.State != trials.Finished || x.Progress.Taken != 4000 || len(x.Plan.Readers) != 7 {
		t.Errorf("came in as %+v", x)
	}
	if ms := benchtest.Must(s.Methods(ctx))(t); len(ms) != 3 || len(benchtest.Must(s.People(ctx))(t)) != 10 {
		t.Errorf("methods %+v", ms)
	}
	if err := benchtest.Exec(t, s.Path, fmt.Sprint("delete from reading where trial_id = ", x.ID)); err == nil {
		t.Error("what has come in can be deleted")
	}
	if err := benchtest.Exec(t, s.Path, "update trial set arriving = 1"); err == nil {
		t.Error("a trial can be made to arrive again, and then deleted")
	}
}

// TestKillImport kills a process while a data set comes in: the bench is as it was
// before, or has all of it.
func TestKillImport(t *testing.T) {
	if path := os.Getenv("KNOWNWATER_KILL_IMPORT"); path != "" {
		importUntilKilled(t, path)
		return
	}
	s := benchtest.New(t)
	for round := range 4 {
		s.Close()
		rng := rand.New(rand.NewPCG(uint64(round), 1))
		benchtest.KillOnce(t, "KNOWNWATER_KILL_IMPORT="+s.Path, map[string]bool{}, 1+round, rng)
		if benchtest.Rows(t, s.Path, "reading") == "" {
			t.Error("nothing had come in when it was killed: this shows nothing")
		}
		s.Open()
		if list := benchtest.Must(s.Trials(ctx))(t); len(list) != 0 {
			t.Errorf("trials: %+v", list)
		}
		for _, tab := range []string{"trial", "known", "vial", "reading"} {
			if rows := benchtest.Rows(t, s.Path, tab); rows != "" {
				t.Errorf("left behind in %s: %.200s", tab, rows)
			}
		}
		if ms, ps := benchtest.Must(s.Methods(ctx))(t), benchtest.Must(s.People(ctx))(t); len(ms) != 2 || len(ps) != 3 {
			t.Errorf("%d methods, %d people", len(ms), len(ps))
		}
	}
	if err := sqlite.Verify(ctx, s.Path); err != nil {
		t.Error(err)
	}
}

func importUntilKilled(t *testing.T, path string) {
	b, err := bench.Open(path, bench.Options{})
	if err == nil {
		n := 0
		_, err = b.ImportTrial(ctx, benchtest.Owner, trials.DataSet{Data: large(t, 200_000), Title: "Harbour", Source: "harbour.csv",
			Done: func(int, int) { n++; fmt.Printf("kill-test-%012d\n", n) }})
	}
	fmt.Println(err)
	os.Exit(1)
}

// BenchmarkReadingsMeanwhile measures how long an acknowledged reading takes while
// the bench imports a hundred thousand readings, exports, backs up or works out
// findings; counted over time: a reading that takes a second counts for that second.
// KNOWNWATER_ROWS says how many come in.
func BenchmarkReadingsMeanwhile(b *testing.B) {
	n := 100_000
	if k, err := strconv.Atoi(os.Getenv("KNOWNWATER_ROWS")); err == nil {
		n = k
	}
	dir := b.TempDir()
	x, err := bench.Open(filepath.Join(dir, "bench.db"), bench.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer x.Close()
	vials, who := endless(b, x)
	next := 0
	d := large(b, n)
	for _, c := range []struct {
		name string
		work func(round int) error
	}{
		{"import", func(round int) error {
			_, err := x.ImportTrial(ctx, benchtest.Owner, trials.DataSet{Data: d, Title: fmt.Sprint("Harbour ", round), Source: "harbour.csv"})
			return err
		}},
		{"export", func(int) error { return x.Export(ctx, benchtest.Owner, io.Discard) }},
		{"backup", func(round int) error {
			_, err := x.Backup(ctx, benchtest.Owner, filepath.Join(dir, fmt.Sprintf("copy%d-%d.db", round, time.Now().UnixNano())))
			return err
		}},
		{"findings", func(int) error {
			_, err := x.Findings(ctx, benchtest.Owner, 2, trials.FindingsOptions{Version: fmt.Sprint(time.Now())})
			return err
		}},
	} {
		b.Run(c.name, func(b *testing.B) {
			for round := range b.N {
				done := make(chan error, 1)
				start := time.Now()
				go func() { done <- c.work(round) }()
				var took []time.Duration
				for working := true; working; {
					select {
					case err := <-done:
						if err != nil {
							b.Fatal(err)
						}
						working = false
					case <-time.After(5 * time.Millisecond):
						if next == len(vials) { // all read: only wait for the end
							continue
						}
						from := time.Now()
						if _, err := x.KeepReading(ctx, who, trials.NewReading{Key: benchtest.NewKey(), Vial: vials[next], Text: "3.4"}); err != nil {
							b.Fatal(err)
						}
						next++
						took = append(took, time.Since(from))
					}
				}
				b.ReportMetric(time.Since(start).Seconds(), "s/work")
				b.ReportMetric(float64(len(took)), "readings")
				b.ReportMetric(overTime(took, 0.95).Seconds()*1000, "p95-ms")
				b.ReportMetric(slices.Max(took).Seconds()*1000, "max-ms")
			}
		})
	}
}

// overTime is the share's percentile of waiting, counted over time and not over
// readings: somebody who came at any moment would have waited no longer.
func overTime(took []time.Duration, share float64) time.Duration {
	took = slices.Clone(took)
	slices.Sort(took)
	var all, sum time.Duration
	for _, d := range took {
		all += d
	}
	for _, d := range took {
		if sum += d; float64(sum) >= share*float64(all) {
			return d
		}
	}
	return 0
}

// endless is a running trial of very many vials, all of one reader.
func endless(tb testing.TB, x *bench.Bench) ([]int64, knownwater.Who) {
	tb.Helper()
	check := func(err error) {
		if err != nil {
			tb.Fatal(err)
		}
	}
	m, err := x.SaveMethod(ctx, benchtest.Owner, 0, benchtest.MeterSpec(), "")
	check(err)
	p, err := x.SavePerson(ctx, benchtest.Owner, knownwater.Person{Name: "Ines", Role: knownwater.Reader})
	check(err)
	plan := trials.Plan{Title: "endless", Scale: benchtest.Nitrate, Water: benchtest.Seaward, Seed: 3, Sessions: 1, Replicates: 1000, Blanks: 0,
		Methods: []trials.PlanMethod{{VersionID: m.VersionID}}, Readers: []int64{p.ID}}
	for k := range 12 {
		plan.Knowns = append(plan.Knowns, trials.Known{Label: fmt.Sprint("known ", k), Level: float64(1 + k), U: 0.02})
	}
	r, err := x.NewTrial(ctx, benchtest.Owner, plan)
	check(err)
	_, err = x.SealPlan(ctx, benchtest.Owner, r.ID)
	check(err)
	who := knownwater.Who{Person: p.ID, Name: "Ines", Role: knownwater.Reader, Device: "phone"}
	run, err := x.Run(ctx, who, r.ID, 1)
	check(err)
	var vials []int64
	for _, v := range run.Vials {
		vials = append(vials, v.ID)
	}
	return vials, who
}
