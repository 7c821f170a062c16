package calibrations

import (
	"context"
	"errors"
	"fmt"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/assess"
	"knownwater/science/unit"
)

// RecordSpec is a trial's record of performance as it was adopted, for a method as
// used: all its dilutions together, in one water. It holds what the record is
// computed from again, and no draw.
type RecordSpec struct {
	Trial    int64            `json:"trial"`
	Title    string           `json:"title"`          // the trial's
	Method   string           `json:"method"`         // its name
	Version  int64            `json:"method_version"` // MethodVersion.VersionID
	Matrix   string           `json:"matrix"`
	Scale    unit.Scale       `json:"scale"`
	Readings int              `json:"readings"`
	Until    knownwater.Until `json:"until"`  // what stood
	Inputs   string           `json:"inputs"` // fingerprint of that
	Seed     uint64           `json:"seed"`
	Program  string           `json:"program,omitempty"` // version of this program that it was adopted with
}

// Record is one version of a method's record in one water. A version never changes:
// another trial, or the same one with other readings left out, makes the next one.
type Record struct {
	knownwater.Versioned[RecordSpec]
	Method  int64 // MethodVersion.ID
	InUse   bool
	Adopted knownwater.Stamp // when it was last taken into use; zero: never
}

// NewRecord says whose record is to be adopted.
type NewRecord struct {
	Trial   int64
	Version int64  // MethodVersion.VersionID in that trial
	Matrix  string // the water that the knowns were made in; may be empty where there is one
	Why     string
	Program string
}

// AdoptRecord takes a finished trial's record of a method into use as its
// calibration. The same again changes nothing. It says why where it takes the place
// of another. Refused with Faults where the trial does not show how the method
// responds. Owner.
func (b *Operations) AdoptRecord(ctx context.Context, by knownwater.Who, n NewRecord) (r Record, err error) {
	if err := by.MustOwn(); err != nil {
		return Record{}, err
	}
	spec, method, err := b.recordOf(ctx, n)
	if err != nil {
		return Record{}, err
	}
	err = b.write(ctx, func(t tx) error {
		there, err := store.All(t.Tx, recordOfMethod, store.Value[int64], method, spec.Matrix)
		if err != nil {
			return err
		}
		id := int64(0)
		if len(there) > 0 {
			id = there[0]
			if r, err = records.Latest(t.Tx, id); err != nil {
				return err
			}
			same := spec
			same.Program, same.Title = r.Spec.Program, r.Spec.Title
			if r.Spec == same {
				r, err = t.adoptRecord(by, r, n.Why)
				return err
			}
		}
		if id, err = records.Put(t.Tx, by, id, spec.Method, spec, store.Tidy(n.Why), recordColumns(id, method, spec.Matrix)...); err != nil {
			return err
		}
		if r, err = records.Latest(t.Tx, id); err != nil {
			return err
		}
		r, err = t.adoptRecord(by, r, n.Why)
		return err
	})
	return r, err
}

// recordOf is what there is to adopt, and whose: computed before the transaction, so
// that nobody waits for it.
func (b *Operations) recordOf(ctx context.Context, n NewRecord) (s RecordSpec, method int64, err error) {
	var in knownwater.TrialInputs
	err = b.read(ctx, func(t tx) error {
		in, err = t.from.Inputs(t.Tx, n.Trial, nil)
		return err
	})
	if err != nil {
		return s, 0, err
	}
	m, there := in.Methods[n.Version]
	if !there {
		return s, 0, knownwater.Refuse(knownwater.NotFound, "the trial has no such method")
	}
	s = RecordSpec{Trial: n.Trial, Title: in.Title, Method: m.Spec.Name, Version: n.Version, Matrix: n.Matrix, Scale: in.Data.Scale,
		Until: in.Until, Inputs: in.Digest, Seed: in.Seed, Program: n.Program}
	if s.Matrix == "" {
		s.Matrix = onlyMatrix(in.Data, s.Method)
	}
	for _, o := range in.Data.Observations {
		if o.Method == s.Method && o.Matrix == s.Matrix {
			s.Readings += o.Count
		}
	}
	_, err = assess.PerformanceOf(in.Data, s.Method, s.Matrix, assess.Options{Seed: s.Seed, Version: s.Program})
	return s, m.ID, inForm(err)
}

// onlyMatrix is the water of a method's knowns, where there is one.
func onlyMatrix(d knownwater.Trial, method string) string {
	matrix, first := "", true
	for _, o := range d.Observations {
		if o.Method != method {
			continue
		}
		if !first && o.Matrix != matrix {
			return ""
		}
		matrix, first = o.Matrix, false
	}
	return matrix
}

// inForm names the fields of a form where the science names flags.
func inForm(err error) error {
	var fs knownwater.Faults
	if !errors.As(err, &fs) {
		return err
	}
	out := make(knownwater.Faults, len(fs))
	for i, f := range fs {
		if field := map[string]string{"--method": "method", "--matrix": "matrix", "--reading": "readings"}[f.Column]; field != "" {
			f.Column = field
		}
		out[i] = f
	}
	return out
}

// AdoptRecordVersion takes a version of a record into use again. Owner.
func (b *Operations) AdoptRecordVersion(ctx context.Context, by knownwater.Who, version int64, why string) (r Record, err error) {
	if err := by.MustOwn(); err != nil {
		return Record{}, err
	}
	err = b.write(ctx, func(t tx) error {
		if r, err = records.Version(t.Tx, version); err != nil {
			return err
		}
		r, err = t.adoptRecord(by, r, why)
		return err
	})
	return r, err
}

func (t tx) adoptRecord(by knownwater.Who, r Record, why string) (Record, error) {
	if r.InUse {
		return r, nil
	}
	if r.Retired {
		return r, knownwater.Refuse(knownwater.WrongState, "the record of %s is put away", r.Spec.Method)
	}
	versions, err := records.All(t.Tx, r.ID)
	if err != nil {
		return r, err
	}
	why = store.Tidy(why)
	for _, v := range versions {
		if v.InUse {
			if why, err = store.Reason(why); err != nil {
				return r, err
			}
		}
	}
	at, name, device := t.Stamp(by)
	if err := t.Exec(insertRecordAdoption, r.VersionID, why, at, name, device); err != nil {
		return r, err
	}
	if err := t.Note(by, r.Spec.Trial, fmt.Sprintf("adopted the record of %s as version %d", r.Spec.Method, r.Version), why); err != nil {
		return r, err
	}
	return records.Version(t.Tx, r.VersionID)
}

// Records are the latest versions of all records, by method; those put away last.
func (b *Operations) Records(ctx context.Context) (rs []Record, err error) {
	err = b.read(ctx, func(t tx) error {
		rs, err = records.Now(t.Tx)
		return err
	})
	return rs, err
}

// RecordVersion is a certain version, by its VersionID.
func (b *Operations) RecordVersion(ctx context.Context, version int64) (r Record, err error) {
	err = b.read(ctx, func(t tx) error {
		r, err = records.Version(t.Tx, version)
		return err
	})
	return r, err
}

// RecordVersions are all versions of a record, newest first.
func (b *Operations) RecordVersions(ctx context.Context, id int64) (rs []Record, err error) {
	err = b.read(ctx, func(t tx) error {
		rs, err = records.All(t.Tx, id)
		return err
	})
	return rs, err
}

// RetireRecord puts a record away, or takes it back. Owner.
func (b *Operations) RetireRecord(ctx context.Context, by knownwater.Who, id int64, retired bool) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		r, err := records.Latest(t.Tx, id)
		if err != nil || r.Retired == retired {
			return err
		}
		if err := records.Retire(t.Tx, id, retired); err != nil {
			return err
		}
		return t.Note(by, 0, map[bool]string{true: "put away the record of ", false: "took back the record of "}[retired]+r.Spec.Method, "")
	})
}

// Calibrations are all versions in use, of records by method and then of curves by
// name: what readings can be turned round with.
func (b *Operations) Calibrations(ctx context.Context) (list []knownwater.Calibration, err error) {
	err = b.read(ctx, func(t tx) error {
		rs, err := store.All(t.Tx, recordsInUse, records.Scan)
		if err != nil {
			return err
		}
		for _, r := range rs {
			list = append(list, knownwater.Calibration{Kind: knownwater.ByRecord, ID: r.ID, Version: r.VersionID, Number: r.Version,
				Name: r.Spec.Method, Method: r.Method, Matrix: r.Spec.Matrix, Scale: r.Spec.Scale, Adopted: r.Adopted})
		}
		cs, err := store.All(t.Tx, curvesInUse, curves.Scan)
		for _, c := range cs {
			list = append(list, knownwater.Calibration{Kind: knownwater.ByCurve, ID: c.ID, Version: c.VersionID, Number: c.Version,
				Name: c.Spec.Name, Matrix: c.Spec.Matrix, Scale: c.Spec.Scale, Adopted: c.Adopted})
		}
		return err
	})
	return list, err
}

// performance is a record computed again, or why it cannot be.
type performance struct {
	of  *assess.Performance
	err error
}

// mostPerformances is how many records are remembered: each holds some hundred draws.
const mostPerformances = 16

// RecordInputs are what a record's version is computed from, as it stood when it was adopted.
func (b *Operations) RecordInputs(ctx context.Context, r Record) (in knownwater.TrialInputs, err error) {
	err = b.read(ctx, func(t tx) (err error) {
		in, err = t.from.Inputs(t.Tx, r.Spec.Trial, &r.Spec.Until)
		return err
	})
	if err == nil && in.Digest != r.Spec.Inputs {
		err = knownwater.Refuse(knownwater.Damaged, "the readings of the trial %q are no longer those that version %d of the record of %s was made of: another program changed them",
			in.Title, r.Version, r.Spec.Method)
	}
	return in, err
}

// Performance computes a record's version again from what stood when it was adopted.
// It never changes and is remembered.
func (b *Operations) Performance(ctx context.Context, r Record) (*assess.Performance, error) {
	if p, ok := b.known.Find(r.VersionID); ok {
		return p.of, p.err
	}
	in, err := b.RecordInputs(ctx, r)
	if err != nil {
		return nil, err
	}
	p := b.known.Of(r.VersionID, func() (p performance) {
		p.of, p.err = assess.PerformanceOf(in.Data, r.Spec.Method, r.Spec.Matrix, assess.Options{Seed: r.Spec.Seed, Version: r.Spec.Program})
		return p
	})
	return p.of, p.err
}
