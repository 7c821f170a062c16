package plan

import (
	"math/rand/v2"
	"testing"

	"knownwater"
)

var chartSteps = []knownwater.Step{
	{Name: "fill", Seconds: 60, HandsOn: true}, {Name: "shake", Seconds: 60, HandsOn: true},
	{Name: "stand", Seconds: 300}, {Name: "read", Seconds: 20, Within: 120},
}

var dropSteps = []knownwater.Step{{Name: "fill", Seconds: 30, HandsOn: true}, {Name: "count", Seconds: 90, HandsOn: true}}

// TestStaggerNeverCollides checks random sessions second by second against the
// plain statement of the rule.
func TestStaggerNeverCollides(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for range 200 {
		pace := Pace{Between: float64(rng.IntN(20)), AtOnce: rng.IntN(5)}
		var tasks []Task
		for range 1 + rng.IntN(20) {
			task := Task{Steps: [][]knownwater.Step{chartSteps, dropSteps, nil, {{Name: "read"}}}[rng.IntN(4)], Readers: []int{rng.IntN(2)}}
			if rng.IntN(3) == 0 {
				task.Readers = []int{0, 1}
			}
			tasks = append(tasks, task)
		}
		slots, end := Stagger(tasks, pace)
		for r := range 2 {
			checkReader(t, r, tasks, slots, end, pace)
		}
	}
}

func checkReader(t *testing.T, reader int, tasks []Task, slots []Slot, end float64, pace Pace) {
	t.Helper()
	type piece struct {
		task     int
		from, to float64
	}
	var busy []piece
	var latest float64
	for i, task := range tasks {
		if !has(task.Readers, reader) {
			continue
		}
		if slots[i].Start < latest {
			t.Fatalf("task %d starts before the one ahead of it", i)
		}
		latest = slots[i].Start
		spans, read, length := handsOn(task.Steps)
		if slots[i].Read != slots[i].Start+read || slots[i].Start+length > end {
			t.Fatalf("task %d: slot %v, end %g", i, slots[i], end)
		}
		for _, s := range spans {
			busy = append(busy, piece{i, slots[i].Start + s.from, slots[i].Start + s.to})
		}
		if pace.AtOnce > 0 {
			up := 0
			for j, other := range tasks[:i] {
				_, _, l := handsOn(other.Steps)
				if has(other.Readers, reader) && slots[j].Start+l > slots[i].Start {
					up++
				}
			}
			if up >= pace.AtOnce {
				t.Fatalf("task %d starts with %d in the air", i, up)
			}
		}
	}
	for i, a := range busy {
		for _, b := range busy[:i] {
			if a.task != b.task && a.from < b.to+pace.Between-1e-6 && b.from < a.to+pace.Between-1e-6 {
				t.Fatalf("reader %d: task %d is busy %g to %g, task %d %g to %g, %g s apart wanted", reader, a.task, a.from, a.to, b.task, b.from, b.to, pace.Between)
			}
		}
	}
}

func has(list []int, v int) bool {
	for _, x := range list {
		if x == v {
			return true
		}
	}
	return false
}

// TestStaggerByHand: three charts of 120 s hands on, 300 s waiting, 20 s reading
// go up one after the other with 10 s between: 0, 130, 260; the first is read at
// 420, when the third (260 to 380) has been put down.
func TestStaggerByHand(t *testing.T) {
	task := Task{Steps: chartSteps, Readers: []int{0}}
	slots, end := Stagger([]Task{task, task, task}, Pace{Between: 10})
	want := []Slot{{0, 420}, {130, 550}, {260, 680}}
	for i := range want {
		if slots[i] != want[i] {
			t.Errorf("vial %d: %v, want %v", i, slots[i], want[i])
		}
	}
	if end != 700 {
		t.Errorf("end %g, want 700", end)
	}
	// One at a time: each waits for the one before it to be done.
	slots, _ = Stagger([]Task{task, task}, Pace{Between: 10, AtOnce: 1})
	if slots[1].Start != 450 { // 440 when the first is done, and 10 to turn round
		t.Errorf("one at a time: second starts at %g, want 450", slots[1].Start)
	}
}

func TestCheckSteps(t *testing.T) {
	if err := ValidSteps(chartSteps); err != nil {
		t.Error(err)
	}
	for _, bad := range [][]knownwater.Step{
		{{Seconds: 1}}, {{Name: "x", Seconds: -1}}, {{Name: "x", Seconds: 90000}},
		{{Name: "x", Within: -1}}, {{Name: "x", Within: 5}, {Name: "read"}},
	} {
		if ValidSteps(bad) == nil {
			t.Errorf("%v: no error", bad)
		}
	}
}
