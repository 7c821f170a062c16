// Package plan lays out a trial before a drop is spilled: levels, vials, blind
// codes, run order, schedule, and what the readings will be able to decide. All
// of it follows from its arguments and a seed.
package plan

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
