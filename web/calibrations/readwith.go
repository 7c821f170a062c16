package calibrations

import (
	"context"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/science/result"
	"knownwater/science/unit"
	"knownwater/web/render"
)

// choice is one calibration in use.
type choice struct {
	Path, Name string
	Chosen     bool
}

// chosen is the calibration that a reading is turned round by.
type chosen struct {
	With          string // in the address
	Record        int64  // 0: a curve
	Name          string
	Scale         unit.Scale
	Pad           render.Pad
	Readers, Lots []string // that were tried
	Provenance    string
	read          func(context.Context, result.Question) (result.Outcome, error)
	keep          func(context.Context, knownwater.Who, result.Question, kept) (path string, err error)
}

// choose fills in what can be read by, and the one that was chosen.
func (s *Pages) choose(ctx context.Context, as render.Reader, p *readPage) error {
	all, err := s.Bench.Calibrations(ctx)
	if err != nil {
		return err
	}
	of := map[string]int{} // how many there are of a name
	for _, c := range all {
		of[c.Name]++
	}
	last, err := s.Bench.LastResults(ctx, mostRemembered)
	if err != nil {
		return err
	}
	if err := s.chooseWater(ctx, p, last); err != nil {
		return err
	}
	all = lastUsedFirst(all, last, p.Water)
	with := p.Form.Text("with")
	if with == "" && len(all) > 0 && (p.Water != nil || p.Check || p.Coded) && !p.Form.Values.Has("with") { // ten seconds: what was used last is chosen
		with = withOf(all[0])
		p.Form.Set("with", with)
	}
	for _, c := range all {
		name := c.Name
		if of[name] > 1 && c.Matrix != "" {
			name += ", " + c.Matrix
		}
		is := withOf(c) == with || with == "" && len(all) == 1
		p.Methods = append(p.Methods, choice{p.path("with", withOf(c)), name, is})
		if !is {
			continue
		}
		if p.Chosen, err = s.chosen(ctx, as, c); err != nil {
			return err
		}
		if err := s.watch(ctx, as, p, c, last); err != nil {
			return err
		}
		s.offerNitrite(p, last)
	}
	return nil
}

// withOf names a calibration in an address: the version, so that a page that was opened
// before another was taken into use says by what it read.
func withOf(c knownwater.Calibration) string { return string(c.Kind) + "-" + render.ID(c.Version) }

// ReadPath is where readings are turned round by a calibration.
func ReadPath(c knownwater.Calibration) string { return "/read?with=" + withOf(c) }

func (s *Pages) chosen(ctx context.Context, as render.Reader, c knownwater.Calibration) (*chosen, error) {
	if c.Kind == knownwater.ByRecord {
		x, err := s.Bench.RecordVersion(ctx, c.Version)
		if err != nil {
			return nil, err
		}
		return s.byRecord(ctx, as, c, x)
	}
	x, err := s.Bench.CurveVersion(ctx, c.Version)
	return s.byCurve(as, c, x), err
}

// byRecord reads by a trial's record of a method, on the method's own pad.
func (s *Pages) byRecord(ctx context.Context, as render.Reader, c knownwater.Calibration, x calibrations.Record) (*chosen, error) {
	m, err := s.Bench.MethodVersion(ctx, x.Spec.Version)
	if err != nil {
		return nil, err
	}
	known, err := s.Bench.Performance(ctx, x)
	if err != nil {
		return nil, err
	}
	return &chosen{With: withOf(c), Record: c.ID, Name: x.Spec.Method, Scale: x.Spec.Scale, Pad: render.PadOf(m.Spec), Readers: known.Readers, Lots: known.Lots,
		Provenance: as.Language.Say("By version {1} of its record, from the trial “{2}”: {3}{4}.", strconv.Itoa(x.Version), x.Spec.Title, as.Count(x.Spec.Readings, "reading"), inWater(as, x.Spec.Matrix)),
		read: func(ctx context.Context, q result.Question) (result.Outcome, error) {
			return s.Bench.Say(ctx, x, calibrations.NewResult{Signals: strings.Join(q.Readings, " "), Reader: calibrations.ReadersLine(q), Lot: q.Lot, Dilution: q.Dilution, UDilution: q.UDilution, Nitrite: nitriteOf(q), UNitrite: q.UNitrite}, q.Needs)
		},
		keep: func(ctx context.Context, by knownwater.Who, q result.Question, k kept) (string, error) {
			r, err := s.Bench.KeepResult(ctx, by, calibrations.NewResult{Key: k.Key, Record: x.VersionID, Water: k.Water, Signals: strings.Join(q.Readings, " "), Reader: calibrations.ReadersLine(q), Lot: q.Lot,
				Dilution: q.Dilution, UDilution: q.UDilution, Nitrite: nitriteOf(q), UNitrite: q.UNitrite, TakenAt: k.TakenAt, Note: k.Note, Program: k.Program, Of: k.Of})
			return resultPath(r), err
		}}, nil
}

// nitriteOf is the nitrite that was stated of the water; nil: none was.
func nitriteOf(q result.Question) *float64 {
	if !q.NitriteKnown {
		return nil
	}
	return &q.Nitrite
}

func inWater(as render.Reader, matrix string) string {
	if matrix == "" {
		return ""
	}
	return " " + as.Language.Say("in {1}", matrix)
}

// byCurve reads signals: a curve belongs to no method of the bench.
func (s *Pages) byCurve(as render.Reader, c knownwater.Calibration, x calibrations.Curve) *chosen {
	return &chosen{With: withOf(c), Name: x.Spec.Name, Scale: x.Spec.Scale, Pad: render.Pad{Form: "digits", Signal: true},
		Provenance: as.Language.Say("By version {1} of the curve.", strconv.Itoa(x.Version)),
		read: func(ctx context.Context, q result.Question) (result.Outcome, error) {
			d, err := s.Bench.Fit(x)
			if err != nil {
				return result.Outcome{}, err
			}
			return d.Answer(q)
		},
		keep: func(ctx context.Context, by knownwater.Who, q result.Question, k kept) (string, error) {
			r, err := s.Bench.KeepResult(ctx, by, calibrations.NewResult{Key: k.Key, Version: x.VersionID, Water: k.Water, Signals: strings.Join(q.Readings, " "),
				Dilution: q.Dilution, UDilution: q.UDilution, TakenAt: k.TakenAt, Note: k.Note, Program: k.Program, Of: k.Of})
			return resultPath(r), err
		}}
}
