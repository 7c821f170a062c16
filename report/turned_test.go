package report

import (
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/choose"
	"knownwater/science/history"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/result"
	"knownwater/science/unit"
)

var (
	asNO3 = unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}
	asN   = unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "N"}
	inN   = unit.Choices("").With(asN).Turn
)

// filled gives every number of a value 1, every list one member and every pointer something
// to point to, so that whoever adds a field finds it in here.
func filled(v reflect.Value) {
	switch x := v.Addr().Interface().(type) {
	case *unit.Scale:
		*x = asNO3
		return
	case *note.Note:
		*x = note.New("reads-above-all").Number("top", 1)
		return
	}
	switch v.Kind() {
	case reflect.Float64:
		v.SetFloat(1)
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() && v.Type() != reflect.TypeFor[time.Time]() {
				if f := v.Field(i); f.Type() == reflect.PointerTo(v.Type()) { // one more of its kind
					more := reflect.New(v.Type())
					more.Elem().Set(v)
					f.Set(more)
					continue
				}
				filled(v.Field(i))
			}
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		filled(v.Index(0))
	case reflect.Array:
		for i := range v.Len() {
			filled(v.Index(i))
		}
	case reflect.Pointer:
		if v.Type() != reflect.TypeFor[*note.Note]() {
			v.Set(reflect.New(v.Type().Elem()))
			filled(v.Elem())
		}
	}
}

// stayed lists the numbers of a value that are still 1, each by its field.
func stayed(v reflect.Value, path string, out map[string]bool) {
	switch v.Kind() {
	case reflect.Float64:
		if v.Float() == 1 {
			out[path] = true
		} else if math.Abs(v.Float()-1/4.426643820946669) > 1e-9 {
			out[path+" wrong"] = true
		}
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Type().Field(i)
			if !f.IsExported() || v.Type() == reflect.TypeFor[time.Time]() {
				continue
			}
			name := path + "." + f.Name
			if f.Anonymous {
				name = path
			}
			stayed(v.Field(i), name, out)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			stayed(v.Index(i), path, out)
		}
	case reflect.Map:
		for _, k := range v.MapKeys() {
			stayed(v.MapIndex(k), path, out)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			stayed(v.Elem(), path, out)
		}
	}
}

// Every number of what is turned is a concentration and turned, or stands in this list of
// those that are not; what was given stays as it was.
func TestEveryNumberIsTurnedOrNone(t *testing.T) {
	var o result.Outcome
	var h history.History
	var e history.Effect
	var n choose.NeedChoice
	var f assess.NeedFinding
	var b [1]assess.ReadBack
	for _, x := range []any{&o, &h, &e, &n, &f, &b} {
		filled(reflect.ValueOf(x).Elem())
	}
	h.Results[0].Doubt = &o.Notes[0]
	before := fmt.Sprintf("%+v %+v %+v %+v %+v %+v", o, *h.Results[0].Outcome, e, n, f, b[0].Parts)
	of := "Dilution UDilution Yield UYield Nitrite UNitrite Needs.TestsAMonth Needs.MinutesAtMost Needs.MoneyAYear Needs.Sure Needs.WasteMLAYear Needs.WrongBelow Needs.WrongAbove Needs.FalseAlarm Verdicts.Below Verdicts.Inside Verdicts.Above"
	var outcome []string
	for _, f := range strings.Fields(of) {
		outcome = append(outcome, "Outcome."+f, "Again."+f)
	}
	for _, c := range []struct {
		name   string
		turned any
		stay   string
	}{
		{"outcome", TurnedOutcome(o, inN), of},
		{"result", TurnedHistory(h, inN).Results[0], strings.Join(append(outcome, "Dilution", "Known", "UKnown", "Nitrite", "UNitrite"), " ")},
		{"history", func() history.History { h := TurnedHistory(h, inN); h.Results, h.Checks = nil, nil; return h }(),
			"Bridges.Ratio Bridges.Low Bridges.High Bridges.Level Levels.Entry.Dilution Levels.Entry.Known Levels.Entry.UKnown Levels.Entry.Nitrite Levels.Entry.UNitrite Slopes.RankP " +
				"Trends.Entry.Dilution Trends.Entry.Known Trends.Entry.UKnown Trends.Entry.Nitrite Trends.Entry.UNitrite " +
				"Changes.PRise Changes.PFall Changes.PRiseMatters Changes.PFallMatters Holds.Range.Sure Holds.Share Holds.Low Holds.High Holds.Now Holds.Below Holds.Inside Holds.Above Notes.Numbers"},
		{"effect", TurnedEffect(e, inN), "PRaised PLowered PRaisedMatters PLoweredMatters"},
		{"need", turnedNeed(f, inN(asNO3)), "MoreTests Why.Numbers AtShare.Numbers"},
		{"read back", turnedBacks(b[:], inN(asNO3).K), ""},
		{"choice", TurnedChoice(n, inN(asNO3).K), "Need.TestsAMonth Need.MinutesAtMost Need.MoneyAYear Need.Sure Need.WasteMLAYear Need.WrongBelow Need.WrongAbove Need.FalseAlarm " +
			"Ways.Dilution Ways.Over Ways.Factor Ways.Cost.HandsOn Ways.Cost.Minutes Ways.Cost.Least Ways.Cost.Again Ways.Cost.Money Ways.Cost.WasteML Ways.Loss.Below Ways.Loss.Above Ways.Loss.FalseAlarm Ways.Loss.Money Changes.AnswersAMonth Changes.Money Loosen.Times Pair.Share Pair.Money Pair.Alone"},
	} {
		found := map[string]bool{}
		stayed(reflect.ValueOf(c.turned), "", found)
		want := map[string]bool{}
		for _, f := range strings.Fields(c.stay) {
			want["."+f] = true
		}
		if !maps.Equal(found, want) {
			for _, f := range slices.Sorted(maps.Keys(found)) {
				if !want[f] {
					t.Errorf("%s%s is not turned: is it a concentration?", c.name, f)
				}
			}
			for _, f := range slices.Sorted(maps.Keys(want)) {
				if !found[f] {
					t.Errorf("%s%s is turned, and is no concentration", c.name, f)
				}
			}
		}
	}
	if after := fmt.Sprintf("%+v %+v %+v %+v %+v %+v", o, *h.Results[0].Outcome, e, n, f, b[0].Parts); after != before {
		t.Error("what was given was changed")
	}
}

// A result there and back is the same to the last digits, in every choice, and so is what is
// said of it; a missing number stays missing and an open end open.
func TestTurnedThereAndBack(t *testing.T) {
	o := result.Outcome{Scale: asNO3, Result: result.Result{U: 1.1}, Notes: []note.Note{note.New("reads-above-all").Number("top", 20)}}
	o.Needs = []knownwater.Need{{Name: "hold it low", Low: 2, High: 10, Permitted: []knownwater.Permit{{At: 2, Error: 1}, {At: 10, Error: 2.5}}}}
	o.Result.Estimate, o.Result.Low, o.Result.High = 4.9, 3.1, 7.4
	o.Result.Parts = []interval.Interval{{Low: 3.1, High: 4}, {Low: 6, High: math.Inf(1)}}
	said := ReadingSays(nil, o) + SayAll(o.Notes)[0]
	for _, s := range unit.Offered("nitrate") {
		there := TurnedOutcome(o, unit.Choices("").With(s).Turn)
		back := TurnedOutcome(there, unit.Choices("").With(asNO3).Turn)
		if got := ReadingSays(nil, back) + SayAll(back.Notes)[0]; got != said || back.Scale != o.Scale {
			t.Errorf("by %s: %s, was %s", s, got, said)
		}
		for _, x := range [][2]float64{{back.Result.Low, 3.1}, {back.Needs[0].Permitted[1].Error, 2.5}, {back.Result.U, 1.1}} {
			if math.Abs(x[0]-x[1]) > 1e-14*x[1] {
				t.Errorf("by %s: %v became %v", s, x[1], x[0])
			}
		}
		if there.Scale != s || !math.IsInf(there.Result.Parts[1].High, 1) {
			t.Errorf("%s: %+v", s, there)
		}
	}
	there := TurnedOutcome(o, inN)
	there.Result.Parts = nil
	if got := ReadingSays(nil, there); got != "Between 0.7 and 1.7 mg/L N (95 %), most likely 1.1." { // 3.1, 7.4 and 4.9 by 4.4266
		t.Error(got)
	}
	if got := ReadingBrief(nil, there); got != "0.7 to 1.7 mg/L N" {
		t.Error(got)
	}
	o.Result = result.Result{U: math.NaN()}
	o.Result.Estimate, o.Result.Low, o.Result.High = math.NaN(), math.NaN(), math.NaN()
	if got := ReadingBrief(nil, TurnedOutcome(o, inN)); got != "cannot be said" {
		t.Error(got)
	}
}

// noConcentrations are the names of numbers of notes that stand on no scale of
// concentrations, by themselves or in one code.
var noConcentrations = strings.Fields("p u rows dilution wanted factor share results readings df volume shift ratio grams signal row open n most levels is hours ways times there temperature salinity step off new methods knowns " +
	"blanks all yield within width vials tried stated slope readers points planned pairs over others lower line_p left_out left late join entries early drops done days cut count colour cold cells before asked apart after additions permitted limit " +
	"usual nitrite limits swatch known mean volume value had of of10 lots")

// Each number of each note is a concentration that is turned, or none: whoever adds one says
// which. Of knowns that were made, levels of a plan and swatches of a chart none is turned:
// bottles and charts say them.
func TestNumbersOfNotesAreConcentrationsOrNone(t *testing.T) {
	asMade := strings.Fields("after-the-key.read off-the-top.at plan-level-on-swatch.levels below-limit.limit above-limit.limit rows-not-read.rows cells-read-as.from name-in-rows.from other-than-asked.asked bases-differ.value")
	given := notesOfTheScience(t)
	for code, n := range given {
		for name := range n.Numbers {
			turned := slices.Contains(concentrations[code], name)
			if !turned && !slices.Contains(noConcentrations, name) && !slices.Contains(asMade, code+"."+name) {
				t.Errorf("the number %q of the note %q: name it in concentrations, or in this test as none", name, code)
			}
		}
	}
	for code, names := range concentrations {
		for _, name := range names {
			if _, there := given[code].Numbers[name]; !there {
				t.Errorf("no note %q has a number %q", code, name)
			}
		}
		if n := TurnedNotes([]note.Note{given[code]}, unit.Turn{K: 3})[0]; Say(n) == Say(given[code]) {
			t.Errorf("%q says the same in another unit: %s", code, Say(n))
		}
	}
	n := note.New("at-dilution").Number("dilution", 8).Since(note.New("may-lie-above").Number("level", 6))
	if got := TurnedNotes([]note.Note{n}, unit.Turn{K: 0.5})[0]; got.Numbers["dilution"][0] != 8 || got.Because[0].Numbers["level"][0] != 3 || n.Because[0].Numbers["level"][0] != num.Number(6) {
		t.Errorf("%+v of %+v", got, n)
	}
}
