package trials

import (
	"fmt"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/report"
	"knownwater/web/render"
)

// storyOf tells how a trial was run, for its report: by whom only where names
// are not left out.
func storyOf(st trials.TrialFindings, dropped []readingRow, history []trials.Event, hideNames bool) *report.Story {
	t := st.Trial
	by := func(s *knownwater.Stamp) string {
		if s == nil {
			return "not yet"
		}
		if hideNames || s.Name == "" {
			return utc(s.At)
		}
		return utc(s.At) + ", " + s.Name
	}
	story := &report.Story{Notes: report.SayAll(st.Notes)}
	if st.Unfinished {
		story.Unfinished = fmt.Sprintf("%d of %d planned readings are taken; until the stop rule is met, nothing here is settled.", st.Taken, st.Planned)
	}
	tell := func(label, value string) { story.Facts = append(story.Facts, report.Fact{Label: label, Value: value}) }
	if t.Imported {
		tell("Brought in", by(&t.Made)+"; from "+t.Source)
		tell("Readings", fmt.Sprint(st.Taken))
	} else {
		tell("Planned and sealed", by(t.SealedAt))
		tell("Key seen while shut", seenWords(t.Key.Seen, by))
		tell("Key opened", openedWords(t.Key, by))
		tell("Entries after that", fmt.Sprint(t.Key.After))
		tell("Readings", fmt.Sprintf("%d of %d planned", st.Taken, st.Planned))
	}
	if p := st.Provenance; p != nil {
		story.Source = sourceWords(p)
		for _, k := range p.Standards {
			story.Knowns = append(story.Knowns, report.Chain{Bottle: k.Code, Holds: render.Value(k.Level, k.U), Way: strings.Join(report.WordsAll(k.Chain), " → "), Largest: report.Words(k.Largest)})
		}
	}
	for _, r := range st.Excluded {
		told := toldOf(r)
		if r.Excluded != nil {
			told.Why = r.Excluded.Why
			if r.Excluded.AfterKey {
				told.Why += " (decided with the key open)"
			}
		}
		story.LeftOut = append(story.LeftOut, told)
	}
	for _, r := range dropped {
		told := toldOf(r.Reading)
		told.Why = droppedWhy(r)
		story.Dropped = append(story.Dropped, told)
	}
	if !hideNames { // what was done names people
		for _, e := range history {
			story.Events = append(story.Events, report.Deed{When: utc(e.At), Who: e.Name, What: e.What, Why: e.Why})
		}
	}
	return story
}

// utc is a time for people anywhere.
func utc(t time.Time) string { return t.UTC().Format("2 January 2006, 15:04 UTC") }

func seenWords(seen []knownwater.Stamp, by func(*knownwater.Stamp) string) string {
	if len(seen) == 0 {
		return "never"
	}
	var times []string
	for _, s := range seen {
		times = append(times, by(&s))
	}
	return strings.Join(times, "; ")
}

func openedWords(k trials.KeyRecord, by func(*knownwater.Stamp) string) string {
	if k.Opened == nil {
		return "not yet"
	}
	words := by(k.Opened) + ", when " + render.Count(k.Readings, "reading") + " stood"
	if k.Early {
		words += "; early: “" + k.Why + "”"
	}
	return words
}

func toldOf(r trials.Reading) report.Told {
	text := r.Text
	if text == "" {
		text = "none"
	}
	return report.Told{Vial: r.Code, Method: r.Method, Reading: text, Known: render.Number(r.Level), Reader: r.Name}
}

// droppedWhy is why a reading stands for nothing.
func droppedWhy(r readingRow) string {
	words := r.Because
	if r.Withdrawn {
		words = "taken back; " + words
	}
	for _, f := range r.Flags {
		words += "; " + string(f)
	}
	if r.Note != "" {
		words += "; " + r.Note
	}
	return strings.Trim(words, "; ")
}
