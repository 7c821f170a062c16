package trials

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/report"
	"knownwater/web/render"
	"knownwater/wording"
)

// english is what reports are written in, as every file is.
var english *wording.Language

// storyOf tells how a trial was run, for its report: by whom only where names
// are not left out.
func storyOf(st trials.TrialFindings, dropped []readingRow, history []trials.Event, hideNames bool) *report.Story {
	t := st.Trial
	by := func(s *knownwater.Stamp) string {
		if s == nil {
			return english.Say("not yet")
		}
		if hideNames || s.Name == "" {
			return utc(s.At)
		}
		return utc(s.At) + ", " + s.Name
	}
	story := &report.Story{Notes: report.SayAll(st.Notes)}
	if st.Unfinished {
		story.Unfinished = english.Say("{1} of {2} planned readings are taken; until the stop rule is met, nothing here is settled.", strconv.Itoa(st.Taken), strconv.Itoa(st.Planned))
	}
	tell := func(label, value string) { story.Facts = append(story.Facts, report.Fact{Label: label, Value: value}) }
	if t.Imported {
		tell(english.Say("Brought in"), english.Say("{1}; from {2}", by(&t.Made), t.Source))
		tell(english.Say("Readings"), fmt.Sprint(st.Taken))
	} else {
		tell(english.Say("Planned and sealed"), by(t.SealedAt))
		tell(english.Say("Key seen while shut"), seenWords(t.Key.Seen, by))
		tell(english.Say("Key opened"), openedWords(t.Key, by))
		tell(english.Say("Entries after that"), fmt.Sprint(t.Key.After))
		tell(english.Say("Readings"), english.Say("{1} of {2} planned", strconv.Itoa(st.Taken), strconv.Itoa(st.Planned)))
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
				told.Why = english.Say("{1} (decided with the key open)", told.Why)
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
		return english.Say("never")
	}
	var times []string
	for _, s := range seen {
		times = append(times, by(&s))
	}
	return strings.Join(times, "; ")
}

func openedWords(k trials.KeyRecord, by func(*knownwater.Stamp) string) string {
	if k.Opened == nil {
		return english.Say("not yet")
	}
	words := english.Say("{1}, when {2} stood", by(k.Opened), render.Count(k.Readings, "reading"))
	if k.Early {
		words = english.Say("{1}; early: “{2}”", words, k.Why)
	}
	return words
}

func toldOf(r trials.Reading) report.Told {
	text := r.Text
	if text == "" {
		text = english.Say("none")
	}
	return report.Told{Vial: r.Code, Method: r.Method, Reading: text, Known: render.Number(r.Level), Reader: r.Name}
}

// droppedWhy is why a reading stands for nothing.
func droppedWhy(r readingRow) string {
	words := r.Because
	if r.Withdrawn {
		words = english.Say("taken back; {1}", words)
	}
	for _, f := range r.Flags {
		words += "; " + string(f)
	}
	if r.Note != "" {
		words += "; " + r.Note
	}
	return strings.Trim(words, "; ")
}
