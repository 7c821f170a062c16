package intake

import (
	"cmp"
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// trial makes the trial of checked rows.
func (j *joiner) trial() knownwater.Trial {
	t := knownwater.Trial{Scale: j.scales.to, Water: j.stated.Water, WaterStated: j.stated.WaterStated, Methods: j.methods(), Answers: j.stated.Answers}
	t.Observations = make([]knownwater.Observation, 0, len(j.tally.groups))
	dropped := j.vialsToDrop()
	j.tally.release()
	for _, g := range j.tally.groups {
		if j.typed[g.ids[fReading]].notRead {
			continue
		}
		o := j.observation(g)
		if dropped[o.Method] {
			o.Vial = ""
		}
		if n := j.nitrite[g.ids[fNitrite]].value; n > 0 {
			t.Nitrite = append(t.Nitrite, knownwater.WithNitrite{Observation: o, Nitrite: n, UNitrite: j.uNitrite[g.ids[fUNitrite]].value})
			continue
		}
		t.Observations = append(t.Observations, o)
	}
	slices.SortFunc(t.Nitrite, func(a, b knownwater.WithNitrite) int {
		return cmp.Or(cmp.Compare(a.Method, b.Method), cmp.Compare(a.Nitrite, b.Nitrite), cmp.Compare(a.UNitrite, b.UNitrite), compare(a.Observation, b.Observation), cmp.Compare(a.Row, b.Row))
	})
	t.Observations = settle(t.Observations, t.Methods)
	t.InOrder = j.orders(t.Methods)
	t.Notes = j.notes(t, len(dropped) > 0)
	return t
}

// methods are those with readings: in the order of the methods file, else of
// first appearance.
func (j *joiner) methods() []knownwater.Method {
	order := map[string]int{}
	for i, m := range j.stated.Methods {
		order[m.Name] = i
	}
	var used []*usedMethod
	for _, m := range j.method {
		used = append(used, m)
	}
	slices.SortFunc(used, func(a, b *usedMethod) int {
		return cmp.Or(cmp.Compare(order[a.method.Name], order[b.method.Name]), cmp.Compare(a.row, b.row))
	})
	var ms []knownwater.Method
	for _, m := range used {
		ms = append(ms, reading.OnScale(m.method, m.factor()))
	}
	return ms
}

func (j *joiner) observation(g group) knownwater.Observation {
	w := &j.tally.words
	text := func(f field) string { return w[f].texts[g.ids[f]] }
	m := j.method[g.ids[fMethod]].method
	f := j.scales.factors[j.spelled(g)]
	o := knownwater.Observation{
		Method:      m.Name,
		Level:       scaled(j.level[g.ids[fLevel]].value, f),
		ULevel:      scaled(j.uLevel[g.ids[fULevel]].value, f),
		UShared:     scaled(j.uShared[g.ids[fUShared]].value, f),
		UBackground: scaled(j.uBackground[g.ids[fUBackground]].value, f),
		Dilution:    j.dilution[g.ids[fDilution]].value,
		UDilution:   j.uDilution[g.ids[fUDilution]].value,
		Technique:   text(fTechnique), Session: text(fSession), Reader: text(fReader),
		Lot: text(fLot), Vial: text(fVial), Matrix: text(fMatrix),
		Count: g.count, Row: g.row, Also: g.also,
	}
	o.Seen, o.Text, _ = j.see(g) // checked before: it cannot fail here
	return o
}

func scaled(v, factor float64) float64 {
	if factor == 1 {
		return v
	}
	return reading.Digits(v * factor)
}

// vialsToDrop says of which methods a large file tells vials apart for
// nothing: each was read once.
func (j *joiner) vialsToDrop() map[string]bool {
	drop := map[string]bool{}
	if j.tally.rows < manyRows || len(j.tally.words[fVial].texts) == 1 {
		return drop
	}
	type vial struct{ method, vial uint32 }
	reads := map[vial]int{}
	for _, g := range j.tally.groups {
		if v := (vial{g.ids[fMethod], g.ids[fVial]}); v.vial != 0 {
			reads[v] += g.count
			drop[j.method[v.method].method.Name] = true
		}
	}
	for v, n := range reads {
		if n > 1 {
			delete(drop, j.method[v.method].method.Name)
		}
	}
	return drop
}

// settle puts observations in an order that does not depend on the order of
// rows, and joins those that are alike in value though their texts were not
// ("5" and "5.0").
func settle(obs []knownwater.Observation, methods []knownwater.Method) []knownwater.Observation {
	order := map[string]int{}
	for i, m := range methods {
		order[m.Name] = i
	}
	slices.SortFunc(obs, func(a, b knownwater.Observation) int {
		if a.Method != b.Method {
			return order[a.Method] - order[b.Method]
		}
		return compare(a, b)
	})
	out := obs[:0]
	for _, o := range obs {
		if n := len(out); n > 0 && out[n-1].Method == o.Method && compare(out[n-1], o) == 0 {
			out[n-1].Count += o.Count
			out[n-1].Row, out[n-1].Also = joinRows(out[n-1], o)
			continue
		}
		out = append(out, o)
	}
	return slices.Clip(out)
}

// joinRows are the rows of two observations together.
func joinRows(a, b knownwater.Observation) (first int, also []int) {
	rows := slices.Concat([]int{a.Row}, a.Also, []int{b.Row}, b.Also)
	slices.Sort(rows)
	return rows[0], rows[1:min(len(rows), 1+knownwater.MostAlso)]
}

func compare(a, b knownwater.Observation) int {
	for _, v := range [...][2]float64{{a.Level, b.Level}, {a.Dilution, b.Dilution}, {a.Seen.Low, b.Seen.Low},
		{a.Seen.High, b.Seen.High}, {a.ULevel, b.ULevel}, {a.UShared, b.UShared}, {a.UBackground, b.UBackground}, {a.UDilution, b.UDilution}} {
		if c := cmp.Compare(v[0], v[1]); c != 0 {
			return c
		}
	}
	for _, s := range [...][2]string{{a.Text, b.Text}, {a.Technique, b.Technique}, {a.Session, b.Session},
		{a.Reader, b.Reader}, {a.Lot, b.Lot}, {a.Matrix, b.Matrix}, {a.Vial, b.Vial}} {
		if c := strings.Compare(s[0], s[1]); c != 0 {
			return c
		}
	}
	return 0
}

// notes says what was taken for granted.
func (j *joiner) notes(t knownwater.Trial, vialsDropped bool) []note.Note {
	var notes []note.Note
	add := func(n note.Note) { notes = append(notes, n) }
	notes = append(notes, j.sh.notes...)
	notes = append(notes, j.tally.notes(j.sh)...)
	notes = append(notes, j.cellNotes()...)
	if j.tally.wide == nil {
		notes = append(notes, j.sh.noteUnknown()...)
	}
	notes = append(notes, j.sh.noteComma(j.mark)...)
	notes = append(notes, j.scales.notes...)
	notes = append(notes, withoutU(j.rowsWithoutU(), j.read)...)
	for _, m := range t.Methods {
		if f := reading.Factor(m); f != 1 {
			add(note.New("method-shows-other").Name("method", m.Name).Name("own", m.Own.String()).Name("scale", t.Scale.String()).Number("factor", f))
		}
		switch {
		case reading.Of(m.Kind).Signal && m.Own != (unit.Scale{}):
			add(note.New("signal-without-unit").Name("method", m.Name))
		case !j.given:
			add(note.New("taken-as-display").Name("method", m.Name).Number("step", m.Resolution))
		case reading.Of(m.Kind).Counts && j.bare(m.Name):
			add(note.New("drops-without-d").Name("method", m.Name))
		}
	}
	used := map[string]bool{}
	for _, m := range t.Methods {
		used[m.Name] = true
	}
	without := 0
	for _, m := range j.stated.Methods {
		if used[m.Name] {
			continue
		}
		if without++; without <= mostQuoted {
			add(note.New("method-without-readings").Name("method", m.Name))
		}
	}
	if without > mostQuoted {
		add(note.New("more-without-readings").Number("methods", float64(without-mostQuoted)))
	}
	switch {
	case j.tally.noVials:
		add(note.New("too-many-vials").Number("vials", mostVials).Number("rows", mostGroups))
	case vialsDropped:
		add(note.New("single-vials-not-apart").Number("readings", manyRows))
	}
	return notes
}

// noteUnknown names the columns that have no meaning here.
func (sh *sheet) noteUnknown() []note.Note {
	if names := sh.unknown(); len(names) > 0 {
		return []note.Note{note.New("unknown-columns").Name("file", sh.src.base()).Name("columns", names...)}
	}
	return nil
}

func (sh *sheet) noteComma(m mark) []note.Note {
	if m.comma {
		return []note.Note{note.New("decimal-commas").Name("file", sh.src.base())}
	}
	return nil
}

// withoutU says in how many rows of all no u_level is given.
func withoutU(n, all int) []note.Note {
	switch n {
	case 0:
		return nil
	case all:
		return []note.Note{note.New("no-u-level")}
	}
	return []note.Note{note.New("u-level-missing").Number("rows", float64(n)).Number("all", float64(all))}
}

func (j *joiner) rowsWithoutU() (n int) {
	for _, g := range j.tally.groups {
		if g.ids[fULevel] == 0 && !j.typed[g.ids[fReading]].notRead {
			n += g.count
		}
	}
	return n
}

func (j *joiner) bare(name string) bool {
	for _, m := range j.method {
		if m.method.Name == name {
			return m.bare
		}
	}
	return false
}

// onlyNitrite names methods of which there are readings with nitrite and no others: nothing turns
// those round.
func (j *joiner) onlyNitrite(t knownwater.Trial) (fs knownwater.Faults) {
	plain := map[string]bool{}
	for _, o := range t.Observations {
		plain[o.Method] = true
	}
	if a := t.Scale.Analyte; len(t.Nitrite) > 0 && a != "" && a != "nitrate" {
		fs = append(fs, j.sh.src.fault(t.Nitrite[0].Row, "nitrite", "nitrite in knowns of %s", "knowns of nitrate: nitrite reads as nitrate, and no other test is asked about it", a))
	}
	for _, o := range t.Nitrite {
		if !plain[o.Method] {
			plain[o.Method] = true
			fs = append(fs, j.sh.src.fault(o.Row, "nitrite", "all readings of %s are of knowns with nitrite", "readings of knowns without it, too: they turn the others round", reading.Quote(o.Method)))
		}
	}
	return fs
}
