package logged

import (
	"bytes"
	"maps"
	"slices"
	"strconv"

	"knownwater"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/history"
	"knownwater/science/unit"
)

// TrialFiles are a trial's data as the files that an assessment reads, so that
// the report can be computed again from what it carries.
func TrialFiles(t knownwater.Trial) (report.Inputs, error) {
	var readings, methods, needs bytes.Buffer
	if err := intake.WriteReadings(&readings, t); err != nil {
		return report.Inputs{}, err
	}
	if err := intake.WriteMethods(&methods, intake.MethodsFile{Scale: t.Scale, Water: t.Water, WaterStated: t.WaterStated, Methods: t.Methods, Answers: t.Answers, InOrder: t.InOrder}); err != nil {
		return report.Inputs{}, err
	}
	in := report.Inputs{Readings: report.File{Name: "readings.csv", Data: readings.Bytes()}, Methods: report.File{Name: "methods.toml", Data: methods.Bytes()}}
	if len(t.Needs) > 0 {
		if err := intake.WriteNeeds(&needs, t.Needs); err != nil {
			return report.Inputs{}, err
		}
		in.Need = report.File{Name: "need.toml", Data: needs.Bytes()}
	}
	return in, nil
}

// RecordFiles are the files of a trial whose record of a method, in a water and by a seed, reads a log, where that
// method is called so.
func RecordFiles(t knownwater.Trial, method, called, matrix string, seed uint64) (report.Inputs, error) {
	if method != called {
		t = t.Called(method, called)
	}
	in, err := TrialFiles(t)
	in.Options = map[string]string{"seed": strconv.FormatUint(seed, 10), SaidMatrix: matrix}
	return in, err
}

// LogFiles are a log with the methods of it that have no record, and what its waters are to be, as files. Times are
// those of the machine's clock, so that days stay as they were.
func LogFiles(entries []history.Entry, scale unit.Scale, kinds map[string]knownwater.Method, needs []knownwater.Need) (f Files, err error) {
	typed := make([]history.Entry, len(entries))
	for i, e := range entries {
		if typed[i] = e; e.Typed == "" {
			typed[i].Typed = e.At.Local().Format("2006-01-02T15:04:05")
		}
	}
	var b bytes.Buffer
	if err := intake.WriteLog(&b, typed); err != nil {
		return f, err
	}
	f.Log = intake.Source{Name: "log.csv", Data: b.Bytes()}
	if len(kinds) > 0 {
		m := intake.MethodsFile{Scale: scale}
		for _, name := range slices.Sorted(maps.Keys(kinds)) {
			k := kinds[name]
			k.Name = name
			m.Methods = append(m.Methods, k)
		}
		var b bytes.Buffer
		if err := intake.WriteMethods(&b, m); err != nil {
			return f, err
		}
		f.Methods = intake.Source{Name: "methods.toml", Data: b.Bytes()}
	}
	if len(needs) > 0 {
		var b bytes.Buffer
		if err := intake.WriteNeeds(&b, needs); err != nil {
			return f, err
		}
		f.Need = intake.Source{Name: "need.toml", Data: b.Bytes()}
	}
	return f, nil
}
