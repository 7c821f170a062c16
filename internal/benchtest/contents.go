package benchtest

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/bench/standards"
	"knownwater/bench/trials"
	"knownwater/bench/waters"
	"knownwater/science/curve"
	"knownwater/science/history"
	"knownwater/science/interval"
	"knownwater/science/known"
	"knownwater/science/note"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// CurveSpec is a photometer with a little stray light; all invented. The knowns
// of 3 and 9 are held out.
func CurveSpec() calibrations.CurveSpec {
	s := calibrations.CurveSpec{Name: "bench photometer", Scale: Nitrate, Conversion: curve.Conversion{Kind: curve.Absorbance}, Lot: "R7", Matrix: "salt mix, salinity 35", ValidUntil: "2026-12-31", Program: "test",
		Need: &knownwater.Need{Name: "keep it low", Low: 0.5, High: 8, Permitted: []knownwater.Permit{{At: 0.5, Error: 0.5}, {At: 8, Error: 1.5}}}}
	off := []float64{0.0011, -0.0008, 0.0003, -0.0012, 0.0009, 0.0002, -0.0005, 0.0013, -0.001}
	n := 0
	for _, level := range []float64{0, 0.5, 1, 2, 3, 4, 6, 8, 9, 12} {
		for range 3 {
			s.Points = append(s.Points, calibrations.CurvePoint{Level: level, ULevel: 0.005 + 0.004*level, Signal: 0.012 + 0.068*level - 0.0007*level*level + off[n%len(off)], Check: level == 3 || level == 9, Dilution: 1})
			n++
		}
	}
	return s
}

// Curved keeps a curve in three versions, the first of them in use.
func (s *Shed) Curved() calibrations.Curve {
	s.T.Helper()
	c := Must(s.SaveCurve(ctx, Owner, 0, CurveSpec(), ""))(s.T)
	Must(s.AdoptCurve(ctx, Owner, c.VersionID, ""))(s.T)
	c = Must(s.UsePoint(ctx, Owner, c.VersionID, 5, false, calibrations.ForNone, "a bubble", "test"))(s.T)
	return Must(s.UsePoint(ctx, Owner, c.VersionID, 19, true, calibrations.ForCheck, "hold out 6", "test"))(s.T)
}

// Full is a bench with something in every table and every awkward value.
func Full(t *testing.T) *Shed {
	s := New(t)
	photo := Must(s.KeepPhoto(ctx, s.Ines, bytes.NewReader(Picture(t, PNG))))(t)
	r := s.Sealed(s.Plan())
	v := s.First(r.ID, s.Ines, s.Card.VersionID)
	if err := s.StartVial(ctx, s.Ines, trials.VialStart{Key: NewKey(), Vial: v.ID}); err != nil {
		t.Fatal(err)
	}
	one := Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: NewKey(), Vial: v.ID, Text: ">10", Photo: photo,
		Note: "a \"quoted\", awkward;\nnote\twith\r\nlines\n\n  and ünïcödé, =1+1, \\N"}))(t)
	Must(s.CorrectReading(ctx, s.Ines, one.ID, trials.NewReading{Key: NewKey(), Text: "0"}, "other way round"))(t)
	n := trials.NewReading{Key: NewKey(), Vial: v.ID, Text: "5"}
	Must(s.KeepReading(ctx, s.Tomo, n))(t)
	Must(s.TakeBack(ctx, s.Tomo, n.Key, NewKey()))(t)
	if err := s.Exclude(ctx, Owner, one.ID, true, "\n,\"'"); err != nil {
		t.Fatal(err)
	}
	s.ReadAll(r.ID, s.Ines, s.Tomo)
	Must(s.OpenKey(ctx, Owner, r.ID, ""))(t)
	Must(s.Finish(ctx, Owner, r.ID))(t)
	with := s.Plan()
	with.Knowns = append(with.Knowns, trials.Known{Label: "stock one, \"spiked\"", Level: 1.7, U: 0.02, Nitrite: 0.25, UNitrite: 0.005, Vials: 2})
	s.Sealed(with)
	for _, word := range []string{trials.AnswerUnknown, trials.AnswerNo} {
		if err := s.KeepAnswer(ctx, Owner, r.ID, trials.Answer{Question: "water", Says: "What water was it?", Word: word, Why: "nobody\nmeasured, \"it\""}); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.SaveColumns(ctx, Owner, []string{"Probe", "=Soll; \"x\""}, map[string]string{"Probe": "method", "=Soll; \"x\"": "level"}); err != nil {
		t.Fatal(err)
	}
	Must(s.NewTrial(ctx, Owner, trials.Plan{Title: "only an idea"}))(t)
	data := Dataset(t)
	for _, o := range data.Observations[6:7] {
		o.Vial = "N1"
		data.Nitrite = append(data.Nitrite, knownwater.WithNitrite{Observation: o, Nitrite: 0.1, UNitrite: 0.01})
	}
	in := Must(s.ImportTrial(ctx, Owner, trials.DataSet{Data: data, Title: "imported", Source: "a file"}))(t)
	for _, to := range []trials.Placing{{Title: "brought in, \"wrongly\"", Place: trials.Here, Why: "the title\nof another"}, {Title: "brought in", Place: trials.Archived, Why: "=done"}} {
		if err := s.PlaceTrial(ctx, Owner, in.ID, to); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.UndoPlace(ctx, Owner, in.ID); err != nil {
		t.Fatal(err)
	}
	s.Shelved()
	set := s.Prepared()
	Must(s.NewTrial(ctx, Owner, s.Plan().WithSet(set.Standards())))(t)
	s.Curved()
	s.Resulted()
	s.Rechecked()
	s.Recorded()
	s.Watered()
	return s
}

// Watered is a tank with a result of a sample of it, checks among them, and a word on what
// became of one.
func (s *Shed) Watered() knownwater.Water {
	s.T.Helper()
	w := Must(s.SaveWater(ctx, Owner, 0, knownwater.WaterSpec{Name: "Marram, the \"big\" one", Kind: knownwater.Tank, Litres: 300, Needs: []int64{s.Need.ID}, Note: "=1\n\nnothing"}, ""))(s.T)
	w = Must(s.SaveWater(ctx, Owner, w.ID, knownwater.WaterSpec{Name: w.Spec.Name, Kind: knownwater.Tank, Litres: 310, Needs: []int64{s.Need.ID}}, "measured"))(s.T)
	nitrite := 0.125
	for _, rec := range Must(s.Records(ctx))(s.T) {
		keep := func(readings string, of knownwater.Sample) calibrations.Result {
			n := ReadBy(rec, readings)
			n.Of = &of
			if of.Role == knownwater.Routine {
				n.Nitrite, n.UNitrite = &nitrite, 0.01
			}
			return Must(s.KeepResult(ctx, s.Ines, n))(s.T)
		}
		salinity := 34.5
		one := keep("4.1 4.2", knownwater.Sample{Water: w.ID, Role: knownwater.Routine, SampleSpec: knownwater.SampleSpec{Filtered: "yes", Salinity: &salinity}})
		keep("3.6", knownwater.Sample{Role: knownwater.Checked, Known: 3, UKnown: 0.05})
		if err := s.SayStanding(ctx, Owner, []int64{one.ID}, knownwater.ResultStands, "looked at again"); err != nil {
			s.T.Fatal(err)
		}
	}
	s.earlier(w)
	return w
}

// earlier is a log from before, with awkward cells, taken out and put back.
func (s *Shed) earlier(w knownwater.Water) {
	s.T.Helper()
	at := time.Date(2023, 3, 1, 12, 0, 0, 0, time.UTC)
	rows := []waters.EarlierRow{
		{Water: w.ID, Method: s.Card.ID, Rest: "=Wetter: \"Regen\";\nwindig", Entry: history.Entry{Row: 2, At: at, Water: w.Spec.Name, Method: "Card, the \"old\" one", Reading: "2..5", Lot: history.UnknownLot, Pair: "=p1", Dilution: 8, NitriteKnown: true, Nitrite: 0.0625, UNitrite: 0.01}},
		{Entry: history.Entry{Row: 3, At: at, Method: "unknown", Reading: "5.5", Dilution: 1, Check: true, Known: 5.25, UKnown: 0.125}},
	}
	l := Must(s.KeepEarlierLog(ctx, Owner, waters.EarlierLog{Name: "old \"log\".csv", Digest: "d", Said: waters.EarlierSaid{Columns: map[string]string{"=Datum": "taken_at"},
		Kinds: map[string]knownwater.Method{"unknown": {Name: "unknown", Kind: knownwater.Display, Resolution: 0.5}}}}, rows))(s.T)
	for _, removed := range []bool{true, false} {
		if err := s.PlaceEarlierLog(ctx, Owner, l.ID, removed, "another tank's,\n\"perhaps\""); err != nil {
			s.T.Fatal(err)
		}
	}
}

// Lower is a re-check of CurveSpec's photometer after its slope has fallen to nine tenths.
func Lower() calibrations.Recheck {
	at := func(c float64) float64 { c *= 0.9; return 0.012 + 0.068*c - 0.0007*c*c }
	return calibrations.Recheck{Blank: []float64{0.012, 0.0123}, Margin: 0.05, Knowns: []calibrations.RecheckKnown{
		{Level: 6, ULevel: 0.02, Signals: []float64{at(6) - 0.0004, at(6) + 0.0004}}, {Level: 10, ULevel: 0.03, Signals: []float64{at(10), at(10) + 0.0003}}}}
}

// Rechecked keeps two re-checks of a curve: one that holds, one that led to a version.
func (s *Shed) Rechecked() calibrations.Curve {
	s.T.Helper()
	c := Must(s.SaveCurve(ctx, Owner, 0, CurveSpec(), ""))(s.T)
	holds := calibrations.Recheck{Blank: []float64{0.012}, Margin: 0.05, Knowns: []calibrations.RecheckKnown{{Level: 6, Signals: []float64{0.3947}}}}
	Must(s.KeepRecheck(ctx, Owner, c.VersionID, holds, false, "new bottle", "test"))(s.T)
	return Must(s.KeepRecheck(ctx, Owner, c.VersionID, Lower(), true, "the lamp is weaker", "test"))(s.T)
}

// Read5 are the signals of a water of 5 mg/L on the curve of these tests.
func Read5(version int64) calibrations.NewResult {
	return calibrations.NewResult{Key: NewKey(), Version: version, Water: "north tank", Signals: "0.3345 0,3349", Program: "test 1"}
}

// Resulted keeps results through the first version of a curve: one that stands,
// one that was corrected, one that was withdrawn and one above the range.
func (s *Shed) Resulted() []calibrations.Result {
	s.T.Helper()
	curves := Must(s.Curves(ctx))(s.T)
	versions := Must(s.CurveVersions(ctx, curves[0].ID))(s.T)
	inUse := versions[len(versions)-1].VersionID
	var out []calibrations.Result
	for i, who := range []knownwater.Who{s.Ines, s.Ines, s.Tomo, Owner} {
		n := Read5(inUse)
		n.Note = fmt.Sprintf("no. %d; \"quoted\",\nünïcödé", i)
		if i == 3 {
			n.Signals, n.OwnColour, n.Clear, n.Dilution, n.UDilution, n.ULot = "2.5", "0.011 0.012", "0.001", 8, 0.004, 0.02
		}
		out = append(out, Must(s.KeepResult(ctx, who, n))(s.T))
	}
	n := Read5(inUse)
	n.Signals = "0.2"
	out = append(out, Must(s.CorrectResult(ctx, s.Ines, out[1].ID, n, "digits swapped"))(s.T))
	return append(out, Must(s.WithdrawResult(ctx, s.Tomo, out[2].ID, NewKey(), "the wrong vial"))(s.T))
}

// Measured is a finished trial of the meter at six levels, read by two unless others are named: what it shows
// is a tenth too much, and some scatter.
func (s *Shed) Measured(readers ...knownwater.Who) trials.Trial {
	s.T.Helper()
	if readers == nil {
		readers = []knownwater.Who{s.Ines, s.Tomo}
	}
	p := trials.Plan{Title: "The meter by itself", Scale: Nitrate, Water: Seaward, Seed: 11, Sessions: 1, Replicates: 3, Blanks: 6,
		Methods: []trials.PlanMethod{{VersionID: s.Meter.VersionID, Together: true}}}
	for _, who := range readers {
		p.Readers = append(p.Readers, who.Person)
	}
	for i, level := range []float64{0, 1, 3, 6, 10, 15} {
		p.Knowns = append(p.Knowns, trials.Known{Label: fmt.Sprint("level ", i), Level: level, U: 0.01 * level, UShared: 0.006 * level, Matrix: "salt mix", Blank: level == 0})
	}
	r := s.Sealed(p)
	levels := map[int64]float64{}
	rows, err := SQL(s.T, s.Path).Query("select v.id, k.level from vial v join known k on k.id = v.known_id where v.trial_id = ?", r.ID)
	if err != nil {
		s.T.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		var vial int64
		var level float64
		if err := rows.Scan(&vial, &level); err != nil {
			s.T.Fatal(err)
		}
		levels[vial] = level
	}
	n := 0
	for _, who := range readers {
		for _, v := range Must(s.Run(ctx, who, r.ID, 1))(s.T).Vials {
			off := []float64{0.1, -0.1, 0, 0.2, 0, -0.1, 0.1}[n%7] * (1 + levels[v.ID]/10)
			Must(s.KeepReading(ctx, who, trials.NewReading{Key: NewKey(), Vial: v.ID, Text: fmt.Sprintf("%.1f", max(0, 1.1*levels[v.ID]+0.2+off))}))(s.T)
			n++
		}
	}
	Must(s.OpenKey(ctx, Owner, r.ID, ""))(s.T)
	return Must(s.Finish(ctx, Owner, r.ID))(s.T)
}

// Recorded adopts the meter's record of a trial, and keeps results by it: one that
// stands, one corrected, one withdrawn.
func (s *Shed) Recorded() (calibrations.Record, []calibrations.Result) {
	s.T.Helper()
	r := s.Measured()
	rec := Must(s.AdoptRecord(ctx, Owner, calibrations.NewRecord{Trial: r.ID, Version: s.Meter.VersionID, Program: "test 1"}))(s.T)
	keep := func(readings string) calibrations.Result {
		return Must(s.KeepResult(ctx, s.Ines, ReadBy(rec, readings)))(s.T)
	}
	out := []calibrations.Result{keep("5.2 5.3"), keep("2.5"), keep(">17")}
	out = append(out, Must(s.CorrectResult(ctx, s.Ines, out[1].ID, ReadBy(rec, "5.2"), "digits swapped"))(s.T))
	out = append(out, Must(s.WithdrawResult(ctx, s.Ines, out[2].ID, NewKey(), "the wrong vial"))(s.T))
	return rec, out
}

// ReadBy are readings of the north tank for a record.
func ReadBy(r calibrations.Record, readings string) calibrations.NewResult {
	return calibrations.NewResult{Key: NewKey(), Record: r.VersionID, Water: "north tank", Signals: readings, Reader: "Ines", Program: "test 1", Note: "after the; “change”"}
}

// First is the first vial of a method in a reader's first session.
func (s *Shed) First(trial int64, who knownwater.Who, version int64) trials.RunVial {
	s.T.Helper()
	for session := 1; session <= 2; session++ {
		for _, v := range Must(s.Run(ctx, who, trial, session))(s.T).Vials {
			if v.Method == version {
				return v
			}
		}
	}
	s.T.Fatal("no such vial")
	return trials.RunVial{}
}

// Picture is a small picture.
func Picture(t *testing.T, encode func(*bytes.Buffer, image.Image) error) []byte {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 3, 2))
	img.Set(1, 1, color.RGBA{200, 0, 100, 255})
	var b bytes.Buffer
	if err := encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// PNG encodes a picture.
func PNG(b *bytes.Buffer, i image.Image) error { return png.Encode(b, i) }

// Dataset is a small data set as an assessment reads it.
func Dataset(t *testing.T) knownwater.Trial {
	t.Helper()
	card := knownwater.Method{Name: "Birch card", Kind: knownwater.Chart, Swatches: []float64{0, 3, 6, 12}, AtShare: 0.3, PackPrice: 9.5, PackTests: 40, Minutes: 5}
	count := knownwater.Method{Name: "Drop count", Kind: knownwater.Drops, DropValue: 0.5, DilutionOver: 6, DilutionFactor: 4}
	shown := knownwater.Method{Name: "Elm meter", Kind: knownwater.Display, Resolution: 0.1, Range: &interval.Interval{Low: 0, High: 20}}
	d := knownwater.Trial{
		Scale: Nitrate, Water: Seaward, WaterStated: true, Methods: []knownwater.Method{card, count, shown},
		Needs: []knownwater.Need{{Name: "spot a rise", Low: 1, High: 15, Permitted: []knownwater.Permit{{At: 1, Error: 0.4}}, MoneyAYear: 100}},
		Notes: []note.Note{note.Told("levels were given without u_level")}, InOrder: []string{"Drop count", "Elm meter"},
	}
	row := 1
	add := func(m knownwater.Method, level float64, text string, dilution float64, o knownwater.Observation) {
		row++
		seen, err := reading.Understand(text, m)
		if err != nil {
			t.Fatal(err)
		}
		o.Method, o.Level, o.Text, o.Seen, o.Dilution, o.Row = m.Name, level, text, seen, dilution, row
		o.Count = max(1, o.Count)
		d.Observations = append(d.Observations, o)
		for range o.Count - 1 {
			row++
			d.Observations[len(d.Observations)-1].Also = append(d.Observations[len(d.Observations)-1].Also, row)
		}
	}
	add(card, 0, "0", 1, knownwater.Observation{Session: "Monday", Reader: "Ines", Count: 3})
	add(card, 4.2, "3..6", 1, knownwater.Observation{ULevel: 0.1, UShared: -0.05, Session: "Monday", Reader: "Kai", Lot: "B1", Technique: "hasty"})
	add(card, 4.2, "6", 1, knownwater.Observation{ULevel: 0.1, UShared: -0.05, Session: "Monday", Reader: "Kai", Lot: "B1", Technique: "hasty"})
	add(card, 15, ">12", 1, knownwater.Observation{Vial: "K7", Matrix: "tank water"})
	add(count, 4.2, "8d", 1, knownwater.Observation{ULevel: 0.1, UShared: -0.05, UBackground: 0.04})
	add(count, 15, "7d", 4, knownwater.Observation{UDilution: 0.01, Vial: "K7", Reader: "Ines"})
	add(shown, 1.0/3, "0.3", 1, knownwater.Observation{Reader: "Ines", Count: 2})
	add(shown, 1e-17, "<0.1", 1, knownwater.Observation{})
	return d
}

// Shelved puts on the shelf what docs/howto-standards.md has on its bench.
func (s *Shed) Shelved() (stock, water standards.Item) {
	s.T.Helper()
	put := func(spec standards.ItemSpec) standards.Item {
		s.T.Helper()
		return Must(s.SaveItem(ctx, Owner, 0, spec, ""))(s.T)
	}
	put(standards.ItemSpec{Kind: standards.DeviceItem, Name: "flask 250", Device: &standards.DeviceSpec{Kind: known.Flask, Nominal: 250, Class: "A"}})
	put(standards.ItemSpec{Kind: standards.DeviceItem, Name: "pipette 5", Device: &standards.DeviceSpec{Kind: known.Piston, Nominal: 5, Smallest: 0.5}})
	put(standards.ItemSpec{Kind: standards.DeviceItem, Name: "scale", Device: &standards.DeviceSpec{Kind: known.Scale, Nominal: 500, Step: 0.01}})
	water = put(standards.ItemSpec{Kind: standards.WaterItem, Name: "salt mix 7", Water: &standards.WaterSpec{Salinity: 35,
		Backgrounds: []standards.BackgroundSpec{{Scale: Nitrate, Value: 0.259, U: 0.028, How: "standard addition"}}}})
	stock = put(standards.ItemSpec{Kind: standards.StockItem, Name: "bottle A", Stock: &standards.StockSpec{Scale: Nitrate, Value: 1000, Expanded: 6, K: 2, Expires: "2027-06-30", Left: 250}})
	return stock, water
}

// Wanted are the standards of docs/howto-standards.md.
func (s *Shed) Wanted() standards.Wanted {
	s.T.Helper()
	limits := standards.DefaultLimits()
	limits.Volume, limits.SalinityCut = 250, 0.05
	w := standards.Wanted{Name: "spring set", Scale: Nitrate, Levels: []float64{0, 0.6, 3, 12, 40}, Temperature: 22, Within: 3, Limits: limits}
	for _, x := range Must(s.Shelf(ctx))(s.T) {
		if x.Spec.Kind == standards.WaterItem {
			w.Water = x.ID
		}
	}
	return w
}

// AsPlanned is what was taken where everything went as planned.
func AsPlanned(s standards.SetSpec) (out []standards.Made) {
	for _, x := range s.Solutions {
		x.Take.Planned, x.Make.Planned = 0, 0 // the bench knows
		out = append(out, standards.Made{Solution: x.Name, Take: x.Take, Make: x.Make, MadeAt: "2026-03-01 09:30", MadeBy: "Ines"})
	}
	return out
}

// Prepared is a set that was made as planned.
func (s *Shed) Prepared() standards.PreparedSet {
	s.T.Helper()
	set := Must(s.NewSet(ctx, Owner, s.Wanted()))(s.T)
	return Must(s.WriteDown(ctx, Owner, set.ID, AsPlanned(set.Spec), "", "", ""))(s.T)
}

// Phosphate is another analyte.
var Phosphate = unit.Scale{Analyte: "phosphate", Unit: "mg/L", Basis: "PO4"}
