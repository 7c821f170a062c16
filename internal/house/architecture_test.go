package house

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// held says of every sentence of docs/architecture.md which tests hold it; where none
// can, why. A sentence is named by its beginning. Who writes a sentence finds out here
// that something must hold it, and who rewrites one, what did.
var held = []struct{ begins, by string }{
	{"One Go module, one binary.", "TestOneModuleOneBinary"},
	{"Around the nouns lie small pure packages", "TestArrows TestThePureParts"},
	{"Same input, same seed: same output.", "TestNoClockAndNoSharedDice TestOrderAndSeed TestSearchIsTheSameTwice"},

	{"They go from the edge to the middle", "TestArrows"},
	{"`internal/house` holds them", "TestArrows"},
	{"`science/…`, `chart` and the root import", "TestThePureParts TestNoClockAndNoSharedDice"},
	{"`num`, `unit`, `interval`, `posterior`", "TestWhoKnowsNoNouns"},
	{"`inverse` knows only intervals and `num`", "TestWhoKnowsNoNouns"},
	{"`report` imports `chart`, `raster` and `wording`", "TestArrows"},
	{"`intake`, `sqlite`, `demo` and `chart` import none", "TestArrows"},
	{"Nobody imports `internal/…`.", "TestArrows"},
	{"A new package has no place until", "TestArrows TestEveryPackageHasItsLine"},
	{"English stands where it is said", "TestMessages TestEveryTemplateComesBack"},
	{"Screens are put into the reader's", "TestTemplateInALanguage TestWithCommas TestShown"},
	{"Files, reports and the terminal are English", "TestFilesAreEnglish"},
	{"Sentences leave the science as codes", "TestSentencesLeaveTheScience TestNobodyTellsANote TestEveryNoteHasItsSentence"},
	{"No function stands that only tests reach", "TestStyleAsks"},
	{"What starts a goroutine or guards something", "TestWhatRunsSideBySideIsRaced"},
	{"Kinds (chart, display, drops", "TestNobodyTellsKindsApart TestTellingApartIsFound"},
	{"How to add one:", "none: tried by hand with an invented kind, see contributing.md"},

	{"**Typed.**", "TestNotationRoundTrip TestWhatWasWrittenIsThereAgain"},
	{"**Understood** (`reading`)", "TestUnderstand TestUnderstandRefuses"},
	{"**One scale** (`unit`, `intake`)", "TestOrderAndUnitsChangeNothing TestDataOnThePlansScale"},
	{"**Counted** (`intake`)", "TestCellsNotReadings TestTwiceIsWeightTwo"},
	{"A million rows cost", "TestMillion TestCellsNotReadings"},
	{"**Split** (`assess`)", "TestEveryDilutionForgotten TestProcedure"},
	{"**Found** (`posterior`)", "TestAgainstR TestSamplerMeetsOneWayAnalysis"},
	{"**Summed up** (`record`)", "TestStraightLineAgainstYork TestFitFindsTheShape"},
	{"**Read off** (`assess`)", "TestLimitsAgainstTables TestStepsAgainstReference"},
	{"Before that the readings are asked about (`doubt`).", "TestSlipsAreAskedAbout TestCleanTrialsAreNotAsked"},
	{"**Turned round** (`inverse`)", "TestOneTurn TestRecordsAgainstASearch TestCurvesAgainstASearch"},
	{"**Told** (`report`, `chart`): JSON with full precision", "TestJSONWritesNullAndFullPrecision TestForgeries"},

	{"Stored on a bench is only what was seen", "TestNothingComputedIsStored"},
	{"A result is the one exception", "TestReExpress TestResultsOfRecordsAreAppendOnly"},
	{"A record that was adopted keeps", "TestRecordIsAdopted TestRecordOfTamperedReadings TestNothingComputedIsStored"},

	{"A **fault** is something in a person's input", "TestFaults TestManyFaultsAreCounted TestJudgeScripts"},
	{"A **note** is a doubt inside a result", "TestEveryNoteHasItsSentence TestJSONKeepsTheContract"},
	{"An **error** is ours", "none: a habit that reviews look for"},
	{"Nothing typed or uploaded reaches a panic.", "FuzzReadings FuzzWorkbook FuzzMethods FuzzNeeds FuzzPoints FuzzSpectra FuzzImport FuzzExtract FuzzKnownFiles FuzzUnderstand"},
	{"One place maps errors to exit status", "TestOnePlaceForStatuses"},
	{"Wrong usage is exit status 2", "TestJudgeScripts"},

	{"Estimation costs by distinct cells", "TestCellsNotReadings"},
	{"A bench is one SQLite file", "TestEveryEarlierSchema TestEveryOldVersionUpgrades"},
}

func TestEverySentenceOfThePageIsHeld(t *testing.T) {
	page := sentencesOfPage(text(t, "docs/architecture.md"))
	if len(page) < 30 {
		t.Fatalf("only %d sentences were found", len(page))
	}
	for _, s := range page {
		if !slices.ContainsFunc(held, func(h struct{ begins, by string }) bool { return strings.HasPrefix(s, h.begins) }) {
			t.Errorf("nothing is said to hold %q: name a test in this one's table", s)
		}
	}
	there := tests(t)
	for _, h := range held {
		if !slices.ContainsFunc(page, func(s string) bool { return strings.HasPrefix(s, h.begins) }) {
			t.Errorf("docs/architecture.md no longer has the sentence %q…", h.begins)
		}
		if strings.HasPrefix(h.by, "none: ") {
			continue
		}
		for _, name := range strings.Fields(h.by) {
			if !there[name] {
				t.Errorf("%q… is held by %s, which is no test", h.begins, name)
			}
		}
	}
}

// begins is where a paragraph or a point of a list begins.
var begins = regexp.MustCompile(`\n\s*\n|\n(?:- |\d+\. )`)

// point is the mark of a point of a list.
var point = regexp.MustCompile(`^(?:- |\d+\. )`)

// ends is where a sentence ends; the next begins with a capital, code or bold.
var ends = regexp.MustCompile("[.:!?] +([A-Z`*])")

// sentencesOfPage are the sentences outside the picture and the headings. What a colon
// only introduces stays with what comes behind it where that is no sentence.
func sentencesOfPage(page string) (out []string) {
	before, rest, _ := strings.Cut(page, "```text")
	_, after, _ := strings.Cut(rest, "```")
	for _, p := range begins.Split(before+"\n\n"+after, -1) {
		p = strings.Join(strings.Fields(point.ReplaceAllString(strings.TrimSpace(p), "")), " ")
		if p == "" || strings.HasPrefix(p, "#") {
			continue
		}
		start := 0
		for _, m := range ends.FindAllStringSubmatchIndex(p, -1) {
			if p[m[0]] == ':' { // a list or an example follows
				continue
			}
			out = append(out, p[start:m[0]+1])
			start = m[2]
		}
		out = append(out, p[start:])
	}
	return out
}

// tests are the names of all tests and fuzz targets of the module.
func tests(t *testing.T) map[string]bool {
	names := map[string]bool{}
	of := regexp.MustCompile(`(?m)^func ((?:Test|Fuzz)\w+)\(`)
	eachFile(t, func(name string) bool { return strings.HasSuffix(name, "_test.go") }, func(_, source string) {
		for _, m := range of.FindAllStringSubmatch(source, -1) {
			names[m[1]] = true
		}
	})
	return names
}

// eachFile hands every file of the module that is wanted to do, with its slashed name.
func eachFile(t *testing.T, wanted func(name string) bool, do func(name, source string)) {
	t.Helper()
	root := filepath.Join("..", "..")
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		name := filepath.ToSlash(strings.TrimPrefix(path, root+string(filepath.Separator)))
		switch {
		case err != nil:
			return err
		case d.IsDir() && path != root && (strings.HasPrefix(d.Name(), ".") || d.Name() == "testdata"):
			return filepath.SkipDir
		case d.IsDir() || !wanted(name):
			return nil
		}
		source, err := os.ReadFile(path)
		do(name, string(source))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func program(name string) bool {
	return strings.HasSuffix(name, ".go") && !strings.HasSuffix(name, "_test.go") && !strings.HasPrefix(name, "internal/")
}

func TestOneModuleOneBinary(t *testing.T) {
	for _, p := range list(t, module+"/...") {
		if p.Name == "main" && p.name() != "cmd/knownwater" && !strings.HasPrefix(p.name(), "internal/") {
			t.Errorf("%s is a second binary", p.name())
		}
	}
	mods := 0
	eachFile(t, func(name string) bool { return strings.HasSuffix(name, "go.mod") && name != "tools/go.mod" }, func(string, string) { mods++ })
	if mods != 1 {
		t.Errorf("%d modules", mods)
	}
}

// Readings are turned round by records, curves and what stands on them; nobody else
// looks for the ends of a set.
func TestOneTurn(t *testing.T) {
	may := map[string]bool{"science/assess": true, "science/curve": true, "science/result": true}
	found := map[string]bool{}
	eachFile(t, program, func(name, source string) {
		if strings.Contains(source, "inverse.Turn(") {
			found[name[:strings.LastIndex(name, "/")]] = true
		}
	})
	for p := range found {
		if !may[p] {
			t.Errorf("%s turns readings round itself: ask a record, a curve or package result", p)
		}
	}
	if len(found) != len(may) {
		t.Errorf("turned round is in %v, want %v", found, may)
	}
}

// Findings, verdicts and draws have no table.
func TestNothingComputedIsStored(t *testing.T) {
	table := regexp.MustCompile(`(?i)create table (\w+)`)
	seen := 0
	eachFile(t, func(name string) bool {
		return strings.HasPrefix(name, "sqlite/migrations/") && strings.HasSuffix(name, ".sql")
	}, func(name, source string) {
		for _, m := range table.FindAllStringSubmatch(source, -1) {
			seen++
			for _, no := range []string{"finding", "verdict", "draw", "posterior", "limit", "forecast"} {
				if strings.Contains(m[1], no) {
					t.Errorf("%s stores what is computed: %s", name, m[1])
				}
			}
		}
	})
	if seen < 25 {
		t.Errorf("only %d tables were found", seen)
	}
}

// Exit statuses leave by the command's main (and by the signal that stops it); a
// refusal's HTTP status stands in one table.
func TestOnePlaceForStatuses(t *testing.T) {
	pairs := regexp.MustCompile(`knownwater\.\w+:\s+http\.Status`)
	exits, tables := []string{}, []string{}
	eachFile(t, program, func(name, source string) {
		if strings.Contains(source, "os.Exit(") {
			exits = append(exits, name)
		}
		if pairs.MatchString(source) {
			tables = append(tables, name)
		}
	})
	if !slices.Equal(exits, []string{"cmd/knownwater/main.go", "cmd/knownwater/stop.go"}) {
		t.Errorf("os.Exit is called by %v", exits)
	}
	if !slices.Equal(tables, []string{"web/page/page.go"}) {
		t.Errorf("refusals become HTTP statuses in %v", tables)
	}
}

// `make style` asks about what no command reaches, and what `go mod tidy` would change.
func TestStyleAsks(t *testing.T) {
	_, style, _ := strings.Cut(text(t, "Makefile"), "\nstyle:\n")
	style, _, _ = strings.Cut(style, "\n\n")
	for _, want := range []string{"mod tidy -diff", "staticcheck ./...", "deadcode ./cmd/..."} {
		if !strings.Contains(style, want) {
			t.Errorf("make style does not ask %s", want)
		}
	}
}
