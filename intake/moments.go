package intake

import (
	"fmt"
	"regexp"
	"slices"
	"time"

	"knownwater"
	"knownwater/science/doubt"
)

// moment is when a row was read, with its texts' numbers.
type moment struct {
	method, session, reader, level, vial uint32
	at                                   int64
}

// mostMoments is how many rows are asked when they were read: an order shows in the first of them.
const mostMoments = 20_000

// moment keeps when a row was read, where it says so.
func (t *tally) moment(ids cellIDs, cells [][]byte) {
	if t.takenAt < 0 || t.takenAt >= len(cells) || len(t.moments) == mostMoments {
		return
	}
	if at, ok := clock(string(unmark(trim(cells[t.takenAt])))); ok {
		t.moments = append(t.moments, moment{ids[fMethod], ids[fSession], ids[fReader], ids[fLevel], ids[fVial], at})
	}
}

var timeOfDay = regexp.MustCompile(`^\d{1,2}:\d{2}(:\d{2})?$`)

// clock is a date and time, a date, or a time of day, in seconds from some beginning.
func clock(text string) (int64, bool) {
	if timeOfDay.MatchString(text) {
		text = "2000-01-01 " + text
	}
	at, ok := when(text, time.UTC)
	return at.Unix(), ok
}

// orders are the methods that had their knowns read in the order of their levels, by when each was read, and those of
// which the methods file says so.
func (j *joiner) orders(methods []knownwater.Method) (names []string) {
	type sitting struct{ method, session, reader uint32 }
	at, sittings := map[sitting]int{}, map[string][][]doubt.Moment{} // by method
	for _, m := range j.tally.moments {
		level, used := j.level[m.level], j.method[m.method]
		if level.odd != nil || used == nil {
			continue
		}
		name, of := used.method.Name, sitting{m.method, m.session, m.reader}
		if _, known := at[of]; !known {
			at[of] = len(sittings[name])
			sittings[name] = append(sittings[name], nil)
		}
		vial := ""
		if m.vial != 0 {
			vial = fmt.Sprint(m.session, m.level, m.vial)
		}
		s := &sittings[name][at[of]]
		*s = append(*s, doubt.Moment{Level: level.value, At: m.at, Vial: vial})
	}
	for _, m := range methods {
		if slices.Contains(j.stated.InOrder, m.Name) || doubt.InOrder(sittings[m.Name]) {
			names = append(names, m.Name)
		}
	}
	return names
}
