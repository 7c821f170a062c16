package plan

import (
	"fmt"
	"sort"

	"knownwater"
)

// Task is one vial to be scheduled: its steps and who has to be there.
type Task struct {
	Steps   []knownwater.Step
	Readers []int
}

// Slot is when a vial's procedure starts and when its reading falls due, in
// seconds after the session's start.
type Slot struct{ Start, Read float64 }

// Pace is how people work at the vials.
type Pace struct {
	Between float64 // seconds to turn from one hands-on step to the next
	AtOnce  int     // most vials in the air for one reader; 0: no limit
}

// DefaultPace is common practice, no source.
var DefaultPace = Pace{Between: 10, AtOnce: 6}

// Stagger gives start times, in the order of the tasks, such that no reader has
// two hands-on steps (the reading among them) at the same time, or closer than
// the pace allows. A vial starts as early as that lets it, and not before the
// one ahead of it with a reader in common. The last answer is the session's
// length in seconds.
func Stagger(tasks []Task, pace Pace) ([]Slot, float64) {
	busy := map[int]*diary{}
	slots := make([]Slot, len(tasks))
	var end float64
	for i, t := range tasks {
		var who []*diary
		for _, r := range t.Readers {
			if busy[r] == nil {
				busy[r] = &diary{}
			}
			who = append(who, busy[r])
		}
		spans, read, length := handsOn(t.Steps)
		start := earliest(spans, length, who, pace)
		for _, d := range who {
			d.add(spans, start, start+length)
		}
		slots[i] = Slot{start, start + read}
		end = max(end, start+length)
	}
	return slots, end
}

// span is a time with the hands on a vial, from its start.
type span struct{ from, to float64 }

// handsOn are the hands-on spans of a procedure; the last step, the reading, is
// always one. read is when that falls due, length when all is done.
func handsOn(steps []knownwater.Step) (spans []span, read, length float64) {
	var at float64
	for i, s := range steps {
		if s.HandsOn || i == len(steps)-1 {
			spans = append(spans, span{at, at + s.Seconds})
			read = at
		}
		at += s.Seconds
	}
	return spans, read, at
}

// diary is when one reader is busy.
type diary struct {
	busy   []span // by from, never overlapping
	ends   []float64
	latest float64 // start of the newest vial
}

func (d *diary) add(spans []span, start, end float64) {
	for _, s := range spans {
		d.busy = append(d.busy, span{start + s.from, start + s.to})
	}
	sort.Slice(d.busy, func(i, j int) bool { return d.busy[i].from < d.busy[j].from })
	d.ends = append(d.ends, end)
	sort.Float64s(d.ends)
	d.latest = max(d.latest, start)
}

// free is the first time from t on when fewer than most vials are in the air.
func (d *diary) free(t float64, most int) float64 {
	if most > 0 && len(d.ends) >= most {
		t = max(t, d.ends[len(d.ends)-most])
	}
	return t
}

// earliest moves a start on until no span touches what its readers do. It ends,
// because every move passes the end of something, and these are finite.
func earliest(spans []span, length float64, who []*diary, pace Pace) float64 {
	var t float64
	for _, d := range who {
		t = max(t, d.free(d.latest, pace.AtOnce))
	}
	for moved := true; moved; {
		moved = false
		for _, d := range who {
			for _, s := range spans {
				if to, hit := d.clash(t+s.from, t+s.to, pace.Between); hit {
					t, moved = to-s.from, true
				}
			}
		}
	}
	return t
}

// clash says whether from..to comes closer than gap to something, and from when
// on it would not come closer to that.
func (d *diary) clash(from, to, gap float64) (float64, bool) {
	const hair = 1e-9
	i := sort.Search(len(d.busy), func(i int) bool { return d.busy[i].to+gap > from+hair })
	if i < len(d.busy) && d.busy[i].from < to+gap-hair {
		return d.busy[i].to + gap, true
	}
	return 0, false
}

// StepsOf makes a procedure of what is known where nobody has typed its steps:
// hands on, wait, read.
func StepsOf(steps []knownwater.Step, minutes, handsOnMinutes float64) []knownwater.Step {
	if len(steps) > 0 {
		return steps
	}
	const reading = 20 // seconds; common practice, no source
	hands := max(0, handsOnMinutes*60-reading)
	wait := max(0, minutes*60-hands)
	return []knownwater.Step{
		{Name: "prepare", Seconds: hands, HandsOn: true},
		{Name: "wait", Seconds: wait},
		{Name: "read", Seconds: reading, HandsOn: true},
	}
}

// ValidSteps says what is wrong with typed steps; nil if nothing is.
func ValidSteps(steps []knownwater.Step) error {
	for i, s := range steps {
		switch {
		case s.Name == "":
			return fmt.Errorf("step %d has no name", i+1)
		case !(s.Seconds >= 0 && s.Seconds <= 24*3600):
			return fmt.Errorf("step %d (%s) takes %g seconds: 0 to a day", i+1, s.Name, s.Seconds)
		case !(s.Within >= 0 && s.Within <= 24*3600):
			return fmt.Errorf("step %d (%s) must be read within %g seconds: 0 (any time) to a day", i+1, s.Name, s.Within)
		case s.Within > 0 && i != len(steps)-1:
			return fmt.Errorf("step %d (%s) has a reading window, but only the last step is the reading", i+1, s.Name)
		}
	}
	return nil
}
