package trials_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
	"knownwater/sqlite"
)

// TestKill kills a process with SIGKILL while it takes readings, again and
// again, and then looks: no acknowledged reading is lost, none is there twice,
// the file is whole. Each life ends after so many readings, whatever the time.
// KNOWNWATER_KILLS says how often; the long run is 200.
func TestKill(t *testing.T) {
	if path := os.Getenv("KNOWNWATER_KILL_BENCH"); path != "" {
		takeReadingsUntilKilled(path)
		return
	}
	kills := 20
	if n, err := strconv.Atoi(os.Getenv("KNOWNWATER_KILLS")); err == nil {
		kills = n
	}
	s := benchtest.New(t)
	p := s.Plan()
	p.Methods = p.Methods[1:] // the meter, one reader
	p.Readers, p.Check, p.Duplicates, p.Sessions = p.Readers[:1], "", 0, 1
	p.Knowns = nil
	for i := range 18 { // more vials than can be read
		p.Knowns = append(p.Knowns, trials.Known{Label: fmt.Sprint("known ", i), Level: float64(i), Vials: 5 * kills})
	}
	r := s.Sealed(p)
	s.Close()

	acknowledged := map[string]bool{}
	rng := rand.New(rand.NewPCG(1, uint64(kills)))
	for range kills {
		benchtest.KillOnce(t, "KNOWNWATER_KILL_BENCH="+s.Path, acknowledged, 1+rng.IntN(20), rng)
	}
	if len(acknowledged) < kills {
		t.Errorf("only %d readings were acknowledged in %d lives", len(acknowledged), kills)
	}
	if err := sqlite.Verify(ctx, s.Path); err != nil {
		t.Errorf("after %d kills: %v", kills, err)
	}
	s.Open()
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, "to count"))(t)
	there, vials := map[string]int{}, map[int64]int{}
	for _, x := range benchtest.Must(s.Readings(ctx, benchtest.Owner, r.ID, trials.ReadingFilter{All: true, Limit: -1}))(t) {
		there[x.Key]++
		vials[x.Vial]++
	}
	lost := 0
	for key := range acknowledged {
		if there[key] != 1 {
			lost++
		}
	}
	for v, n := range vials {
		if n != 1 {
			t.Errorf("vial %d has %d readings", v, n)
		}
	}
	if lost > 0 {
		t.Errorf("of %d acknowledged readings %d are lost or there twice", len(acknowledged), lost)
	}
	t.Logf("%d kills, %d readings acknowledged, %d in the file", kills, len(acknowledged), len(there))
}

// takeReadingsUntilKilled reads vial after vial and prints each key once it is
// acknowledged. Of what is there already it sends the last ten again.
func takeReadingsUntilKilled(path string) {
	b, err := bench.Open(path, bench.Options{})
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	who := knownwater.Who{Person: 1, Name: "Ines", Role: knownwater.Reader, Device: "phone"}
	run, err := b.Run(ctx, who, 1, 1)
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	for i, v := range run.Vials {
		if i < run.Done-10 {
			continue
		}
		key := fmt.Sprintf("kill-test-%012d", v.ID)
		if _, err := b.KeepReading(ctx, who, trials.NewReading{Key: key, Vial: v.ID, Text: "3.4"}); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		fmt.Println(key)
	}
	select {} // all read: wait to be killed
}
