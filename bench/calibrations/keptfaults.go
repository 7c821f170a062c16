package calibrations

import (
	"fmt"
	"math"

	"knownwater/bench/store"
	"knownwater/science/unit"
)

// KeptFaults looks into the descriptions that the tables themselves cannot check.
func KeptFaults(t store.Tx) (table string, err error) {
	specs, err := store.All(t, everyCurve, store.ScanJSON[CurveSpec])
	if err != nil {
		return "curve_version", err
	}
	for _, s := range specs {
		if _, fs := s.tidied(); len(fs) > 0 {
			return "curve_version", fs
		}
	}
	kept, err := store.All(t, everyRecord, store.ScanJSON[RecordSpec])
	if err != nil {
		return "record_version", err
	}
	for _, s := range kept {
		if _, err := unit.Parse(s.Scale.Analyte, s.Scale.Unit, s.Scale.Basis); err != nil || s.Trial == 0 || s.Inputs == "" {
			return "record_version", fmt.Errorf("the record of %q names no trial, or no scale", s.Method)
		}
	}
	rechecks, err := store.All(t, everyRecheck, scanRecheck)
	if err != nil {
		return "curve_recheck", err
	}
	for _, k := range rechecks {
		if fs := k.Seen.check(math.MaxFloat64); len(fs) > 0 {
			return "curve_recheck", fs
		}
	}
	results, err := store.All(t, everyResult, scanResult)
	if err != nil {
		return "result", err
	}
	for _, r := range results {
		if r.Record != 0 {
			if fs := readingFaults(r.Text); len(fs) > 0 {
				return "result", fs
			}
			continue
		}
		if len(r.Sample.Signals) == 0 || !finiteAll(r.Sample.Signals...) {
			return "result", fmt.Errorf("result %d has no signals", r.ID)
		}
	}
	return "", nil
}
