package reading

import (
	"math"
	"sort"
	"testing"

	"pgregory.net/rapid"

	"knownwater"
)

func anyChart(t *rapid.T) knownwater.Method {
	n := rapid.IntRange(2, 12).Draw(t, "swatches")
	at := map[int]bool{}
	for len(at) < n {
		at[rapid.IntRange(0, 100000).Draw(t, "swatch")] = true
	}
	var s []float64
	for k := range at {
		s = append(s, float64(k)/100)
	}
	sort.Float64s(s)
	return knownwater.Method{Name: "Card", Kind: knownwater.Chart, Swatches: s,
		AtShare: rapid.Float64Range(0.01, 0.5).Draw(t, "at_share")}
}

// Every concentration has one answer: tiles rise, meet in the very same
// number, and reach from one end of the axis to the other; and every tile is
// what Understand makes of its own text.
func TestTilesCoverTheAxis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyChart(t)
		tiles := Tiles(m)
		if !tiles[0].Seen.OpenBelow() || !tiles[len(tiles)-1].Seen.OpenAbove() {
			t.Fatalf("the outer tiles are closed: %v", tiles)
		}
		for i, tile := range tiles {
			if !(tile.Seen.Low < tile.Seen.High) {
				t.Fatalf("tile %s is empty: %v", tile.Text, tile.Seen)
			}
			if i > 0 && tiles[i-1].Seen.High != tile.Seen.Low {
				t.Fatalf("%s ends at %v, %s starts at %v", tiles[i-1].Text, tiles[i-1].Seen.High, tile.Text, tile.Seen.Low)
			}
			seen, err := Understand(tile.Text, m)
			if err != nil || seen != tile.Seen {
				t.Fatalf("%s is understood as %v, %v; its tile is %v", tile.Text, seen, err, tile.Seen)
			}
		}
	})
}

// Neighbouring display values and drop counts meet without gap or overlap.
func TestDisplaysAndDropsTile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		decimals := rapid.IntRange(0, 4).Draw(t, "decimals")
		k := rapid.IntRange(-5000, 500000).Draw(t, "k")
		scale := math.Pow10(decimals)
		m := knownwater.Method{Name: "Meter", Kind: knownwater.Display, Resolution: 1 / scale}
		a, errA := Understand(Format(float64(k)/scale), m)
		b, errB := Understand(Format(float64(k+1)/scale), m)
		if errA != nil || errB != nil || a.High != b.Low {
			t.Fatalf("%v %v, %v %v", a, errA, b, errB)
		}
		d := knownwater.Method{Name: "Drops", Kind: knownwater.Drops,
			DropValue: rapid.Float64Range(0.001, 50).Draw(t, "drop")}
		n := rapid.IntRange(0, 200).Draw(t, "n")
		a, errA = Understand(Format(float64(n))+"d", d)
		b, errB = Understand(Format(float64(n+1)), d)
		if errA != nil || errB != nil || a.High != b.Low {
			t.Fatalf("%v %v, %v %v", a, errA, b, errB)
		}
	})
}

func TestNotationRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := Typed{Form: Form(rapid.IntRange(0, 3).Draw(t, "form")), Drops: rapid.Bool().Draw(t, "drops")}
		number := func(label string) float64 {
			if want.Drops {
				return float64(rapid.IntRange(0, 1000).Draw(t, label))
			}
			return rapid.Float64Range(-1e9, 1e9).Draw(t, label)
		}
		want.Low = number("low")
		want.High = want.Low
		if want.Form == Range {
			want.High = number("high")
			if want.High <= want.Low {
				t.Skip("not a range")
			}
		}
		got, err := Parse(want.String())
		if err != nil {
			t.Fatal(err)
		}
		want.Decimals = got.Decimals // how it was written is not in the value
		if got != want {
			t.Fatalf("%q read back as %+v, want %+v", want.String(), got, want)
		}
	})
}

func FuzzUnderstand(f *testing.F) {
	for _, s := range []string{"10", "6..15", "<0.5", ">50", "7d", "", "..", "15..6", "NaN", "1e999", "6,5", "−3", "0x1p3", "1e-400", "<6..15", "6-15", "\x00", "1e+", "d..d"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, m := range []knownwater.Method{chart, panel, drops, cell} {
			seen, err := Understand(text, m)
			if err != nil {
				if f, ok := err.(knownwater.Fault); !ok || f.Found == "" || f.Want == "" {
					t.Fatalf("%q: the refusal %v says too little", text, err)
				}
				continue
			}
			if !seen.Valid() {
				t.Fatalf("%q is understood as %v", text, seen)
			}
			typed, err := Parse(text)
			if err != nil {
				t.Fatalf("%q is understood but not parsed: %v", text, err)
			}
			if again, err := Parse(typed.String()); err != nil || again.Low != typed.Low || again.High != typed.High || again.Form != typed.Form {
				t.Fatalf("%q → %q → %+v, %v", text, typed.String(), again, err)
			}
			if mid, err := Midpoint(text, m); err != nil || math.IsNaN(mid) {
				t.Fatalf("%q has the midpoint %v, %v", text, mid, err)
			}
		}
	})
}
