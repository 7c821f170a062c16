package bench

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"testing"
	"time"

	"knownwater"
	"knownwater/sqlite"
)

// TestKill kills a process with SIGKILL while it takes readings, again and
// again, and then looks: no acknowledged reading is lost, none is there twice,
// the file is whole. KNOWNWATER_KILLS says how often; the long run is 200.
func TestKill(t *testing.T) {
	if path := os.Getenv("KNOWNWATER_KILL_BENCH"); path != "" {
		takeReadingsUntilKilled(path)
		return
	}
	kills := 12
	if n, err := strconv.Atoi(os.Getenv("KNOWNWATER_KILLS")); err == nil {
		kills = n
	}
	s := newShed(t)
	p := s.plan()
	p.Methods = p.Methods[1:] // the meter, one reader
	p.Readers, p.Check, p.Duplicates, p.Sessions = p.Readers[:1], "", 0, 1
	p.Knowns = nil
	for i := range 18 { // more vials than can be read
		p.Knowns = append(p.Knowns, Known{Label: fmt.Sprint("known ", i), Level: float64(i), Vials: 5 * kills})
	}
	r := s.sealed(p)
	s.Close()

	acknowledged := map[string]bool{}
	rng := rand.New(rand.NewPCG(1, uint64(kills)))
	for range kills {
		killOnce(t, "KNOWNWATER_KILL_BENCH="+s.path, acknowledged, time.Duration(rng.IntN(40_000))*time.Microsecond)
	}
	if len(acknowledged) < 5*kills {
		t.Errorf("only %d readings were acknowledged in %d lives", len(acknowledged), kills)
	}
	if err := sqlite.Verify(ctx, s.path); err != nil {
		t.Errorf("after %d kills: %v", kills, err)
	}
	s.open()
	must(s.OpenKey(ctx, owner, r.ID, "to count"))(t)
	there, vials := map[string]int{}, map[int64]int{}
	for _, x := range must(s.Readings(ctx, owner, r.ID, ReadingFilter{All: true, Limit: -1}))(t) {
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

// killOnce starts the process, waits for its first word and then a little, and
// kills it. What it acknowledged is what came through the pipe.
func killOnce(t *testing.T, env string, acknowledged map[string]bool, after time.Duration) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^"+t.Name()+"$")
	cmd.Env = append(os.Environ(), env)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for n := 0; lines.Scan(); n++ {
		if n == 0 {
			time.AfterFunc(after, func() { cmd.Process.Kill() })
		}
		if len(lines.Text()) != len("kill-test-000000000000") {
			t.Fatalf("the process said %q", lines.Text())
		}
		acknowledged[lines.Text()] = true
	}
	cmd.Wait()
}

// takeReadingsUntilKilled reads vial after vial and prints each key once it is
// acknowledged. Of what is there already it sends the last ten again.
func takeReadingsUntilKilled(path string) {
	b, err := Open(path, Options{})
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
		if _, err := b.KeepReading(ctx, who, NewReading{Key: key, Vial: v.ID, Text: "3.4"}); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		fmt.Println(key)
	}
	select {} // all read: wait to be killed
}
