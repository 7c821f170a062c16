package trials

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/doubt"
	"knownwater/science/note"
	"knownwater/science/reading"
)

// cell is a row of cells.
type cell struct {
	knownwater.Observation
	version, reader, first, lot int64
	nitrite, uNitrite           float64
	session                     int64
	at                          time.Time // when the first of them was first read, as far as it is known
}

func scanCell(scan func(...any) error) (c cell, err error) {
	err = scan(&c.Method, &c.version, &c.Level, &c.ULevel, &c.UShared, &c.Text, &c.Seen.Low, &c.Seen.High, &c.Dilution, &c.UDilution,
		&c.Technique, &c.Session, &c.reader, &c.Reader, &c.Lot, &c.Vial, &c.Matrix, &c.Count, &c.Row, &c.first, &c.lot, &c.nitrite, &c.uNitrite, &c.UBackground,
		&c.session, store.Time(&c.at))
	return c, err
}

// always is the bound of what stands now.
var always = knownwater.Until{Reading: math.MaxInt64, Exclusion: math.MaxInt64, Answer: math.MaxInt64}

// data is a trial as a data set on the plan's scale.
func (t tx) data(r Trial, o FindingsOptions) (d knownwater.Trial, err error) {
	d, _, err = t.dataUntil(r, o, always)
	return d, err
}

// dataUntil is a trial as it stood, and the fingerprint of it: a SHA-256 of all that
// numbers come from. People and lots stand in it by number, since they may be called
// otherwise later.
func (t tx) dataUntil(r Trial, o FindingsOptions, until knownwater.Until) (d knownwater.Trial, digest string, err error) {
	d.Scale, d.Water, d.WaterStated = r.Plan.Scale, r.Plan.Water, !r.Plan.NoWater
	if _, err = store.One(t.Tx, "trial", trialBits, func(scan func(...any) error) (any, error) {
		return nil, scan(store.JSON(&d.Needs), store.JSON(&d.Notes))
	}, r.ID); err != nil {
		return d, "", err
	}
	methods, factors, err := t.trialMethods(r)
	if err != nil {
		return d, "", err
	}
	d.Methods = methods
	rows, err := store.All(t.Tx, cells, scanCell, r.ID, o.WithExcluded, until.Reading, until.Exclusion)
	if err != nil {
		return d, "", err
	}
	given, err := t.answers(r.ID, until.Answer)
	if err != nil {
		return d, "", err
	}
	answer(&d, given)
	aliases := map[int64]string{}
	if o.HideNames {
		if aliases, err = t.aliases(r.ID); err != nil {
			return d, "", err
		}
	}
	d.Notes, d.InOrder = broughtInOrder(d.Notes)
	if !r.Imported {
		d.InOrder = readAlong(methods, rows)
	}
	row := 2
	for _, c := range rows {
		if f := factors[c.version]; f != 1 {
			c.Seen = c.Seen.Scale(f)
		}
		if o.HideNames && c.reader != 0 {
			c.Reader = aliases[c.reader]
		}
		c.Row = row // where it stands in the file that the bench writes, below its header
		for k := range min(c.Count-1, knownwater.MostAlso) {
			c.Also = append(c.Also, row+1+k)
		}
		row += max(1, c.Count)
		if c.nitrite > 0 {
			d.Nitrite = append(d.Nitrite, knownwater.WithNitrite{Observation: c.Observation, Nitrite: c.nitrite, UNitrite: c.uNitrite})
			continue
		}
		d.Observations = append(d.Observations, c.Observation)
	}
	digest, err = fingerprint(d, rows)
	return d, digest, err
}

// readInOrder is the note by which a data set that was brought in keeps what its own clock said.
const readInOrder = "read-in-order"

// broughtInOrder are the methods of such notes, and the others.
func broughtInOrder(all []note.Note) (others []note.Note, methods []string) {
	for _, n := range all {
		if n.Code == readInOrder {
			methods = append(methods, n.Names["method"]...)
		} else {
			others = append(others, n)
		}
	}
	return others, methods
}

// readAlong are the methods whose knowns were read in the order of their levels, each reading when it was first read,
// whatever it was corrected to later. What was typed in after the key was opened says nothing of when it was read.
func readAlong(methods []knownwater.Method, rows []cell) (names []string) {
	type sitting struct{ session, reader int64 }
	for _, m := range methods {
		at := map[sitting][]doubt.Moment{}
		for _, c := range rows {
			if c.Method == m.Name && !c.at.IsZero() {
				of := sitting{c.session, c.reader}
				at[of] = append(at[of], doubt.Moment{Level: c.Level, At: c.at.UnixMilli(), Vial: c.Vial})
			}
		}
		if doubt.InOrder(slices.Collect(maps.Values(at))) {
			names = append(names, m.Name)
		}
	}
	return names
}

func fingerprint(d knownwater.Trial, rows []cell) (string, error) {
	type line struct {
		Version, Reader, Lot                   int64
		Level, U, Shared, Dilution, UFactor    float64
		Text, Technique, Session, Vial, Matrix string
		Count                                  int
		Nitrite, UNitrite, Background          float64 `json:",omitempty"`
	}
	var lines []line
	for _, c := range rows {
		lines = append(lines, line{c.version, c.reader, c.lot, c.Level, c.ULevel, c.UShared, c.Dilution, c.UDilution,
			c.Text, c.Technique, c.Session, c.Vial, c.Matrix, c.Count, c.nitrite, c.uNitrite, c.UBackground})
	}
	all := []any{d.Scale, d.Water, d.WaterStated, lines}
	if len(d.Answers) > 0 {
		all = append(all, d.Answers)
	}
	text, err := store.ToJSON(all)
	return store.Digest(text), err
}

// Inputs are what the findings of a finished trial are computed from, as it stands
// now or (until) as it stood; for calibrations, in their transaction.
func (b *Operations) Inputs(t store.Tx, trial int64, until *knownwater.Until) (in knownwater.TrialInputs, err error) {
	x := tx{t, b.from}
	r, err := x.trialIn(trial, Finished)
	if err == nil && until == nil && r.Place == Removed {
		err = knownwater.Refuse(knownwater.WrongState, "the trial was taken out (“%s”): bring it back before its records are used", r.Placed)
	}
	if err != nil {
		return in, err
	}
	in = knownwater.TrialInputs{Title: r.Plan.Title, Seed: seedOf(r), Methods: map[int64]knownwater.MethodVersion{}}
	if until != nil {
		in.Until = *until
	} else if in.Until, err = store.One(t, "trial", untilNow, func(scan func(...any) error) (u knownwater.Until, err error) {
		err = scan(&u.Reading, &u.Exclusion, &u.Answer)
		return u, err
	}, trial); err != nil {
		return in, err
	}
	if in.Data, in.Digest, err = x.dataUntil(r, FindingsOptions{}, in.Until); err != nil {
		return in, err
	}
	for _, m := range r.Plan.Methods {
		if in.Methods[m.VersionID], err = b.from.Described(t, m.VersionID); err != nil {
			return in, err
		}
	}
	return in, nil
}

// trialMethods are the methods of a trial on its scale, in the plan's order, and
// what the readings of each version must be multiplied by.
func (t tx) trialMethods(r Trial) (list []knownwater.Method, factors map[int64]float64, err error) {
	factors = map[int64]float64{}
	ids, err := store.All(t.Tx, trialVersions, store.Value[int64], r.ID)
	if err != nil {
		return nil, nil, err
	}
	var ordered []int64
	for _, pm := range r.Plan.Methods {
		ordered = append(ordered, pm.VersionID)
	}
	for _, id := range append(ordered, ids...) {
		if _, done := factors[id]; done {
			continue
		}
		m, err := t.from.Described(t.Tx, id)
		if err != nil {
			return nil, nil, err
		}
		on, err := r.Plan.onScale(m)
		if err != nil {
			return nil, nil, fmt.Errorf("method %s: %w", m.Spec.Name, err)
		}
		factors[id] = reading.Factor(on)
		list = append(list, on)
	}
	return list, factors, nil
}

// aliases are what stands for the names of a trial's readers. Those without an
// alias of their own are numbered.
func (t tx) aliases(trial int64) (map[int64]string, error) {
	people, err := store.All(t.Tx, trialPeople, func(scan func(...any) error) (p knownwater.Person, err error) {
		err = scan(&p.ID, &p.Name, &p.Alias)
		return p, err
	}, trial)
	out := map[int64]string{}
	for i, p := range people {
		out[p.ID] = p.Alias
		if p.Alias == "" {
			out[p.ID] = fmt.Sprintf("Reader %d", i+1)
		}
	}
	return out, err
}

// hideNames puts aliases for names, and takes out what else can tell a person:
// devices, notes and who kept the reading.
func hideNames(rs []Reading, aliases map[int64]string) {
	for i := range rs {
		r := &rs[i]
		r.Name = aliases[r.Reader]
		r.Note, r.Photo = "", ""
		r.Kept.Name, r.Kept.Device = r.Name, ""
		if r.Excluded != nil {
			e := *r.Excluded
			e.Name, e.Device = "", ""
			r.Excluded = &e
		}
	}
}

// withoutNames is the trial's head without who did what from where.
func (r Trial) withoutNames() Trial {
	bare := func(s *knownwater.Stamp) *knownwater.Stamp {
		if s == nil {
			return nil
		}
		return &knownwater.Stamp{At: s.At}
	}
	r.Made = *bare(&r.Made)
	r.SealedAt, r.Key.Opened = bare(r.SealedAt), bare(r.Key.Opened)
	seen := r.Key.Seen
	r.Key.Seen = nil
	for _, s := range seen {
		r.Key.Seen = append(r.Key.Seen, knownwater.Stamp{At: s.At})
	}
	return r
}

// replaceWhere is a statement with other conditions.
func replaceWhere(statement, where string) string {
	return statement[:strings.LastIndex(statement, "where r.trial_id")] + where
}
