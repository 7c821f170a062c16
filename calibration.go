package knownwater

import "knownwater/science/unit"

// CalibrationKind is what turns readings into concentrations.
type CalibrationKind string

// The kinds of calibrations.
const (
	ByRecord CalibrationKind = "record" // a trial's record of performance
	ByCurve  CalibrationKind = "curve"
)

// Calibration is a version of a record or of a curve that is in use.
type Calibration struct {
	Kind    CalibrationKind
	ID      int64  // of the record or curve
	Version int64  // its VersionID, which results name
	Number  int    // 1, 2, 3 …
	Name    string // of the method, or of the curve
	Method  int64  // MethodVersion.ID; 0 for a curve, which names none
	Matrix  string // the water that it was made in
	Scale   unit.Scale
	Adopted Stamp
}

// Until bounds what stood at a time: readings, exclusions and answers up to these.
type Until struct {
	Reading   int64 `json:"reading"`
	Exclusion int64 `json:"exclusion"`
	Answer    int64 `json:"answer,omitempty"`
}

// TrialInputs are what the findings of a finished trial are computed from.
type TrialInputs struct {
	Title   string
	Data    Trial
	Seed    uint64
	Until   Until
	Digest  string                  // fingerprint of the data, whatever people and lots are called by now
	Methods map[int64]MethodVersion // by VersionID
}
