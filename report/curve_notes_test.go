package report

import (
	"encoding/json"
	"reflect"
	"testing"

	"knownwater/science/curve"
	"knownwater/science/note"
)

// Pairs of rows that are alike are named up to three; the others are counted.
func TestRowsAlike(t *testing.T) {
	for _, c := range []struct {
		pairs float64
		rows  []float64
		want  string
	}{
		{1, []float64{2, 3}, "rows 2 and 3 hold"},
		{5, []float64{2, 3, 4, 5, 6, 7}, "rows 2 and 3, 4 and 5, 6 and 7 and 2 more pairs hold"},
	} {
		want := c.want + " the same level and signal: counted as separate readings; take copies out"
		if s := Words(note.New("rows-alike").Number("row", c.rows...).Number("pairs", c.pairs)); s != want {
			t.Errorf("%q, want %q", s, want)
		}
	}
}

// A curve's file holds sentences, which come back as they stood there and are written
// again without a change.
func TestNotesOfACurvesFileStay(t *testing.T) {
	points := []curve.Point{}
	for i, y := range []float64{0.01, 0.012, 0.15, 0.152, 0.3, 0.303, 0.6, 0.598, 0.605, 0.6} {
		points = append(points, curve.Point{Level: []float64{0, 2, 4, 8, 16}[i/2], Signal: y, Row: i + 2, Dilution: 1})
	}
	d, err := curve.Make(points, curve.Options{}, curve.Conversion{Kind: curve.Absorbance}, curve.Scope{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(CurveJSON(d))
	if err != nil {
		t.Fatal(err)
	}
	back, err := curve.Open(text)
	if err != nil {
		t.Fatal(err)
	}
	if said := WordsAll(back.Notes); len(said) < 2 || !reflect.DeepEqual(said, WordsAll(d.Notes)) || back.Notes[0].Code != note.CodeTold {
		t.Errorf("%q became %q", WordsAll(d.Notes), said)
	}
	const why = "saturated: above 8 the signal hardly rises any more, 0.599 at 8 and 0.6025 at 16"
	for _, r := range []curve.Range{d.Range, back.Range} {
		if said := WordsAll(r.Why); len(said) != 1 || said[0] != why || r.Flat == nil || Words(r.Flat.Why[0]) != why {
			t.Errorf("the range ends because %q, want %q", said, why)
		}
	}
}

// A join tells by how much it is off, and the factor that would be right: a tenth more than
// direct by a factor of 8 makes it 8 / 1.1.
func TestJoinsInWords(t *testing.T) {
	for want, n := range map[string]note.Note{
		"The join is off: what is diluted by 8 reads 10.0 % high (95 %: +8.0 to +12.0 %). The factor is nearer 7.273; find out what the device really delivers.": note.New("join-is-off").Number("dilution", 1, 8).Number("ratio", 1.1, 1.08, 1.12),
		"The dilutions join: what is diluted by 8 reads −1.0 to +3.0 % against direct.":                                                                          note.New("dilutions-join").Number("dilution", 1, 8).Number("ratio", 1.01, 0.99, 1.03),
		"Dilutions 1 and 8 have no level in common: nothing shows that they join. Measure one known both ways.":                                                  note.New("dilutions-share-no-level").Number("dilution", 1, 8),
	} {
		if got := Say(n); got != want || Words(n) != want {
			t.Errorf("got  %s\nwant %s", got, want)
		}
	}
}
