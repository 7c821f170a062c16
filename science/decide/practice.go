package decide

import (
	"strings"

	"knownwater/science/note"
)

// keeps is how many hours a sample keeps: on the bench, cold and dark, and on the bench where it
// was not filtered. Common practice, no source: the trade's order of size, not limits of a
// standard.
type keeps struct{ bench, cold, unfiltered float64 }

var holding = map[string]keeps{
	"nitrate":    {bench: 6, cold: 48, unfiltered: 6},
	"nitrite":    {bench: 2, cold: 24, unfiltered: 2},
	"ammonia":    {bench: 1, cold: 24, unfiltered: 1},
	"phosphate":  {bench: 6, cold: 48, unfiltered: 1},
	"alkalinity": {bench: 12, cold: 168, unfiltered: 12},
	"ph":         {bench: 0.5, cold: 0.5, unfiltered: 0.5},
	"calcium":    {bench: 168, cold: 720, unfiltered: 168},
	"magnesium":  {bench: 168, cold: 720, unfiltered: 168},
	"silicate":   {bench: 24, cold: 168, unfiltered: 12},
}

// Stood says where a sample stood longer than the trade lets samples of an analyte stand. hours
// are those from taking to testing, filtered is yes, no or empty; nothing is known of the
// cold, so past the hours of the bench it is asked about, past those of the cold it is said.
func Stood(analyte string, hours float64, filtered string) []note.Note {
	k, known := holding[strings.ToLower(analyte)]
	if !known || !(hours > 0) {
		return nil
	}
	most := k.bench
	if filtered != "yes" {
		most = k.unfiltered
	}
	switch {
	case hours > k.cold:
		return []note.Note{note.New("sample-stood-too-long").Name("analyte", analyte).Number("hours", hours).Number("most", k.cold)}
	case hours > most && filtered != "yes" && k.unfiltered < k.bench:
		return []note.Note{note.New("sample-stood-unfiltered").Name("analyte", analyte).Number("hours", hours).Number("most", most)}
	case hours > most:
		return []note.Note{note.New("sample-stood-warm").Name("analyte", analyte).Number("hours", hours).Number("most", most).Number("cold", k.cold)}
	}
	return nil
}

// disturbs is what a word in the notes of a water means for tests of an analyte; without
// analytes for all.
type disturbs struct {
	words    []string
	analytes []string
	note     note.Note
}

var disturbing = []disturbs{
	{[]string{"nitrite"}, []string{"nitrate"}, note.New("nitrite-reads-as-nitrate")},
	{[]string{"ozone", "chlorine", "bleach", "peroxide", "permanganate"}, nil, note.New("oxidants-bleach")},
	{[]string{"chloramine", "thiosulf", "thiosulph", "dechlorinat", "water conditioner", "ammonia binder"}, []string{"ammonia", "nitrite", "nitrate"}, note.New("binders-hide")},
	{[]string{"yellow", "humic", "tannin", "peat", "coloured", "colored"}, nil, note.New("own-colour-adds")},
	{[]string{"turbid", "cloudy", "milky", "bacterial bloom"}, nil, note.New("turbidity-adds")},
	{[]string{"silicate", "diatom", "water glass"}, []string{"phosphate"}, note.New("silicate-reads-as-phosphate")},
	{[]string{"copper", "medic", "treatment", "formalin", "methylene", "malachite"}, nil, note.New("medicine-disturbs")},
}

// Disturbed says what in the notes of a water is known to disturb tests of an analyte: common
// practice, no source. Words are looked for, not understood.
func Disturbed(analyte, notes string) (out []note.Note) {
	notes = strings.ToLower(notes)
	analyte = strings.ToLower(analyte)
	for _, d := range disturbing {
		of := len(d.analytes) == 0
		for _, a := range d.analytes {
			of = of || a == analyte
		}
		if !of {
			continue
		}
		for _, w := range d.words {
			if strings.Contains(notes, w) {
				out = append(out, d.note)
				break
			}
		}
	}
	return out
}
