package calibrations

import (
	"fmt"
	"math"

	"knownwater/bench/store"
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
		if len(r.Sample.Signals) == 0 || !finiteAll(r.Sample.Signals...) {
			return "result", fmt.Errorf("result %d has no signals", r.ID)
		}
	}
	return "", nil
}
