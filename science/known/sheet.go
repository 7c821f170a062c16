package known

import (
	"math/rand/v2"
	"strings"

	"knownwater/science/note"
)

// Sheet is what lies beside the bench while standards are made: steps to tick,
// planned amounts with room for the actual ones, labels and cautions. What to do and in
// which order is settled here; package report says it, for paper and screen alike.
type Sheet struct {
	Title    note.Note
	Before   []note.Note // what to have ready
	Rows     []SheetRow  // one a solution, in the order of making
	After    []note.Note // keeping
	Cautions []note.Note
}

// SheetRow is one solution on the sheet.
type SheetRow struct {
	Name, Code string
	Steps      []note.Note
	Planned    note.Note // amount to take, as planned
	Unit       string    // of the actual amount to write down; empty: nothing is taken
	Whole      note.Note // up to which it is filled, where something is taken
}

// letters of codes: no I, O, 0, 1, and no order.
const letters = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"

// Coded gives every standard without a code one of three signs from a seeded
// source, so that labels do not tell the value or the order.
func (p Preparation) Coded(r *rand.Rand) Preparation {
	out := append(Preparation(nil), p...)
	taken := map[string]bool{}
	for _, x := range out {
		taken[x.Code] = true
	}
	for i := range out {
		for out[i].Standard && out[i].Code == "" {
			var b strings.Builder
			for range 3 {
				b.WriteByte(letters[r.IntN(len(letters))])
			}
			if !taken[b.String()] {
				out[i].Code = b.String()
				taken[b.String()] = true
			}
		}
	}
	return out
}

// MakeSheet is the sheet of a preparation.
func MakeSheet(s Shelf, p Preparation) Sheet {
	sheet := Sheet{
		Title:    note.New("sheet-title").Name("analyte", s.Scale.Analyte).Name("scale", s.Scale.String()).Since(s.liquid(InMatrix)),
		Before:   before(s, p),
		After:    []note.Note{note.New("label-with-code"), note.New("use-the-same-day"), note.New("weigh-stock-back")},
		Cautions: cautions(s),
	}
	for _, x := range p {
		sheet.Rows = append(sheet.Rows, sheetRow(s, p, x))
	}
	return sheet
}

func before(s Shelf, p Preparation) []note.Note {
	made := p.volumes(s)
	used := p.used(made)
	out := []note.Note{
		note.New("have-salt-water").Number("salinity", s.Matrix.Salinity).Number("volume", p.matrixUsed(made)),
		note.New("stand-together").Number("temperature", s.Room.Temperature).Number("within", s.Room.Within),
	}
	for _, st := range s.Stocks {
		if used := used[st.Name]; used > 0 {
			out = append(out, note.New("have-stock").Name("stock", st.Name).Number("volume", used))
		}
	}
	return append(out, note.New("note-room-and-name"))
}

func sheetRow(s Shelf, p Preparation, x Solution) SheetRow {
	row := SheetRow{Name: x.Name, Code: x.Code, Unit: "mL"}
	liquid := s.liquid(x.In)
	if x.From == "" {
		row.Steps = []note.Note{note.New("fill-the-blank").Since(liquid), labelStep(x)}
		row.Planned, row.Unit = note.New("nothing-added"), ""
		return row
	}
	take, fill := s.device(x.Take.Device), s.device(x.Make.Device)
	row.Planned, row.Whole = s.amount(x.Take), s.whole(x.Make)
	switch take.Kind {
	case Scale:
		row.Unit = "g"
	case Dropper:
		row.Unit = "drops"
	}
	if fill.Kind == Flask {
		row.Steps = append(row.Steps, note.New("rinse-vessel").Name("vessel", fill.Name).Since(liquid))
	} else {
		row.Steps = append(row.Steps, note.New("take-dry-bottle"))
	}
	row.Steps = append(row.Steps, takeSteps(x, *take, *fill, row.Planned)...)
	row.Steps = append(row.Steps, fillStep(x, *fill, liquid), note.New("turn-over"), labelStep(x))
	return row
}

func takeSteps(x Solution, take, fill Device, amount note.Note) []note.Note {
	var out []note.Note
	switch {
	case fill.Kind == Scale: // which carries a bottle
		out = append(out, note.New("zero-with-bottle").Name("scale", fill.Name))
	case take.Kind == Scale:
		out = append(out, note.New("zero-with-vessel").Name("scale", take.Name).Name("vessel", fill.Name))
	}
	switch take.Kind {
	case Scale:
		return append(out, note.New("add-by-weight").Name("from", x.From).Since(amount))
	case Dropper:
		return append(out, note.New("add-drops").Name("from", x.From).Since(amount))
	}
	return append(out, note.New("add-by-volume").Name("from", x.From).Since(amount))
}

func fillStep(x Solution, fill Device, liquid note.Note) note.Note {
	if fill.Kind == Flask {
		return note.New("fill-to-mark").Since(liquid)
	}
	return note.New("fill-to-weight").Number("grams", x.Make.Amount).Since(liquid)
}

func labelStep(x Solution) note.Note {
	switch {
	case !x.Standard:
		return note.New("label-content").Name("name", x.Name)
	case x.Code == "":
		return note.New("label-not-value")
	}
	return note.New("label-code").Name("code", x.Code)
}

// cautions are what a person must read before working with these things.
func cautions(s Shelf) []note.Note {
	out := []note.Note{note.New("not-for-drinking"), note.New("never-into-a-tank"), note.New("label-hazard"), note.New("waste-by-local-rules")}
	oxidiser, acid, toxic := s.Scale.Analyte == "nitrate" || s.Scale.Analyte == "nitrite", false, false
	for _, st := range s.Stocks {
		if st.Salt == nil {
			continue
		}
		if salt, err := FindSalt(st.Salt.Salt, s.Scale.Analyte); err == nil {
			oxidiser = oxidiser || salt.Oxidiser
			acid = acid || salt.Formula == "CaCO3"
			toxic = toxic || strings.Contains(salt.Drying, "toxic")
			out = append(out, note.New("salt-to-dry").Name("salt", salt.Name).Name("formula", salt.Formula).Name("drying", salt.Drying))
		}
	}
	if oxidiser {
		out = append(out, note.New("feeds-fires"))
	}
	if acid {
		out = append(out, note.New("acid-into-water"))
	}
	if toxic {
		out = append(out, note.New("toxic"))
	}
	return out
}
