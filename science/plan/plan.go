// Package plan lays out a trial before a drop is spilled: levels, vials, blind
// codes, run order, schedule, and what the readings will be able to decide. All
// of it follows from its arguments and a seed.
package plan

// Step is one timed step of a test procedure. All but the last prepare the
// reading; the last is the reading itself.
type Step struct {
	Name    string  `json:"name"`               // shake, wait, read
	Seconds float64 `json:"seconds"`            // how long it takes
	HandsOn bool    `json:"hands_on,omitempty"` // needs the hands: two such steps never overlap
	Within  float64 `json:"within,omitempty"`   // reading: seconds after it falls due within which it must be taken; 0: any time
}

// Role is why a vial is in the plan.
type Role string

// The roles.
const (
	Level     Role = "level"
	Blank     Role = "blank"
	Check     Role = "check"
	Duplicate Role = "duplicate"
)

// Guess is how a method is thought to behave: mean reading = Offset + Slope·c,
// spread of one vial's test SD² = Sigma0² + (Kappa·mean)², and the spread of
// readers, sessions and vials as shares of that SD. The zero value means
// nothing is known: see Fill.
type Guess struct {
	Offset  float64 `json:"offset,omitempty"`
	Slope   float64 `json:"slope,omitempty"` // 0: 1
	Sigma0  float64 `json:"sigma0,omitempty"`
	Kappa   float64 `json:"kappa,omitempty"`
	Reader  float64 `json:"reader,omitempty"`  // standard deviation of readers' offsets ÷ SD
	Session float64 `json:"session,omitempty"` // … of sessions' offsets ÷ SD
	Vial    float64 `json:"vial,omitempty"`    // … of vials ÷ SD, shared by all readers of a vial
	From    string  `json:"from,omitempty"`    // where it comes from: "a guess", "trial 3"
}

// DefaultRuns is how many trials a forecast simulates.
const DefaultRuns = 100

// Outlook is what a plan will be able to decide, from simulated trials.
type Outlook struct {
	Runs    int // simulated
	Wanted  int // asked for; more than Runs where it was stopped
	Methods []MethodOutlook
	Notes   []string
}

// MethodOutlook is the outlook for one method (and dilution).
type MethodOutlook struct {
	Method       string
	Dilution     float64
	Readings     int
	SmallestBias []BiasSeen
	SpreadWithin float64 // the spread will be known within ×/÷ this (95 %), median over runs
	Needs        []NeedOutlook
}

// BiasSeen is the smallest bias at a level that the plan would show: half the
// width of the bias's 95 % interval, median over runs.
type BiasSeen struct {
	Level float64
	Bias  float64 // not a number where no interval could be computed
}

// NeedOutlook is the chance of each verdict on a need.
type NeedOutlook struct {
	Need      string
	Fit       float64 // "fit" and "fit when corrected" together
	NotFit    float64
	Undecided float64
}
