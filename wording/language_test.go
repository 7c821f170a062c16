package wording

import (
	"strings"
	"testing"
	"time"

	xlanguage "golang.org/x/text/language"
)

func TestSayAndThings(t *testing.T) {
	l := german(map[string]string{"Use {1} for {2}.": "Für {2} {1} nehmen.", "1 reading": "1 Messung", "{1} readings": "{1} Messungen"})
	for got, want := range map[string]string{
		l.Say("Use {1} for {2}.", "A", "B"):                    "Für B A nehmen.",
		(*Language)(nil).Say("Use {1} for {2}.", "{2}", "B"):   "Use {2} for B.",
		l.Say("Unknown {1}", "x"):                              "Unknown x",
		l.Things(1, "1", "reading"):                            "1 Messung",
		l.Things(0, "0", "reading"):                            "0 Messungen",
		(*Language)(nil).Things(12, "12", "entry"):             "12 entries",
		(*Language)(nil).Things(1, "1", "entry"):               "1 entry",
		(*Language)(nil).Tag() + " " + (*Language)(nil).Name(): "en English",
		(*Language)(nil).Time(day, "2 January 2006"):           "3 March 2026",
		german(map[string]string{"2 January 2006": "2. January 2006", "March": "März"}).Time(day, "2 January 2006"):            "3. März 2026",
		german(map[string]string{"2 Jan 2006, 15:04": "2. Jan 2006, 15:04 Uhr", "Mar": "März"}).Time(day, "2 Jan 2006, 15:04"): "3. März 2026, 14:05 Uhr",
		(*Language)(nil).WithDays(DaysISO).Time(day, "2 January"):                                                              "2026-03-03",
		(*Language)(nil).WithDays(DaysDots).Time(day, "2 Jan 2006, 15:04"):                                                     "03.03.2026, 14:05",
		(*Language)(nil).WithDays("roman").Time(day, "2 Jan"):                                                                  "3 Mar",
		In("de").WithDays(DaysISO).Say("Today") + In("de").WithDays(DaysISO).Tag():                                             "Heutede",
	} {
		if got != want {
			t.Errorf("%q, wanted %q", got, want)
		}
	}
	if once, again := In("de").WithDays(DaysISO), In("de").WithDays(DaysISO); once != again || (*Language)(nil).WithDays(DaysISO).WithDays(DaysDots).Days() != DaysDots {
		t.Error("a form of days is made anew each time")
	}
}

var day = time.Date(2026, 3, 3, 14, 5, 0, 0, time.UTC)

// A language with more forms than two names them by the Unicode rules (Polish: 1, 2 to 4, 5
// and more; CLDR plural rules for pl).
func TestFurtherForms(t *testing.T) {
	l := &Language{tag: "pl", plural: xlanguage.Polish, says: map[string]string{"1 drop": "1 kropla", "{1} drops|few": "{1} krople", "{1} drops|many": "{1} kropli", "{1} drops": "{1} kropli"}}
	for n, want := range map[string]string{"1": "1 kropla", "3": "3 krople", "5": "5 kropli", "22": "22 krople"} {
		if got := l.Things(map[string]int{"1": 1, "3": 3, "5": 5, "22": 22}[n], n, "drop"); got != want {
			t.Errorf("%q, wanted %q", got, want)
		}
	}
}

func TestOpen(t *testing.T) {
	l, faults := Open("de.tsv", []byte("\ufeff# remark\nlanguage\tde\tDeutsch\r\nVials\tGläschen\n\nNext\t\nOf another version {1}\tSo nicht mehr\n"))
	if faults != nil {
		t.Fatal(faults)
	}
	if l.Say("Vials") != "Gläschen" || l.Has("Next") || l.Tag() != "de" || l.Name() != "Deutsch" {
		t.Errorf("%+v", l)
	}
	for _, c := range []struct{ file, want string }{
		{"", "x:1: an empty file: a first line that names the language"},
		{"Vials\tGläschen", "x:1: “Vials\tGläschen” where the language is to be named"},
		{"language\tde\tDeutsch\nVials\tGläschen\tGläser", "x:2: 2 tabs: one tab"},
		{"language\tde\tDeutsch\nVials\ta\nVials\tb", "x:3: “Vials” a second time"},
		{"language\tde\tDeutsch\n{1} readings\tMessungen", "x:2: no “{1}”: the places of the message, each once, and no other mark: {1}"},
		{"language\tde\tDeutsch\n{1} readings\t{1} {1} Messungen", "x:2: “{1}”, which the message does not have"},
		{"language\tde\tDeutsch\n{1} readings\t{1} <b>Messungen", "x:2: markup or a brace"},
		{"language\tde\tDeutsch\nWhat <1>{1}</1>’s number says <2>{2}, 95 %</2>\tWas </1>{1}<1> sagt <2>{2}, 95 %</2>", "x:2: marks that are not closed"},
		{"language\tde\tDeutsch\nVials\t\xff", "x: it is no UTF-8 text"},
	} {
		if _, faults := Open("x", []byte(c.file)); faults == nil || !strings.Contains(faults.Error(), strings.ReplaceAll(c.want, "\t", `\u0009`)) {
			t.Errorf("%q: %v, wanted %q", c.file, faults, c.want)
		}
	}
}

func TestPreferred(t *testing.T) {
	for header, want := range map[string]string{
		"": "en", "de": "de", "de-AT,de;q=0.9,en;q=0.5": "de", "fr,de;q=0.5": "de", "en-GB,de;q=0.9": "en", "fr": "en", "fr;q=x": "en", "*": "en",
	} {
		if got := Preferred(header).Tag(); got != want {
			t.Errorf("%q: %s, wanted %s", header, got, want)
		}
	}
}

// Every language that is shipped opens without a fault, and nothing in it is of another version.
func TestShipped(t *testing.T) {
	files, err := shipped.ReadDir(".")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	for _, f := range files {
		data, err := shipped.ReadFile(f.Name())
		if err != nil {
			t.Fatal(err)
		}
		l, faults := Open(f.Name(), data)
		for _, x := range faults {
			t.Error(x)
		}
		if faults != nil {
			continue
		}
		all, said := l.Count()
		t.Logf("%s: %d of %d messages", l.Name(), said, all)
		for line := range strings.Lines(string(data)) {
			if m, _, translated := strings.Cut(line, "\t"); translated && m != "language" && !l.Has(m) {
				t.Logf("%s: there is no message %q any more", f.Name(), m) // its screen is in English there, which TestGermanIsWhole sees
			}
		}
	}
}
