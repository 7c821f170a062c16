package knownwater

import "time"

// Role is what somebody may do.
type Role string

// The roles.
const (
	Owner  Role = "owner"  // everything
	Reader Role = "reader" // take readings in trials that name them, and see their own
)

// Who does something, and from where. Loopback without login is
// Who{Role: Owner, Device: "this computer"}, with Person once it is chosen.
type Who struct {
	Person int64  // 0: nobody in particular
	Name   string // as written into the records
	Role   Role
	Device string // from where: "phone of Ines", "this computer", an address
}

// MustOwn refuses what only an owner may do.
func (w Who) MustOwn() error {
	if w.Role != Owner {
		return Refuse(NotAllowed, "only an owner of the bench may do this")
	}
	return nil
}

// Stamp says who did something, when and from where.
type Stamp struct {
	At     time.Time `json:"at"`
	Name   string    `json:"name"`
	Device string    `json:"device"`
}

// Person is somebody who works at the bench.
type Person struct {
	ID    int64
	Name  string
	Role  Role
	Alias string // what stands for the name in what is published without names; "Reader 1" … if empty
	Gone  bool   // no longer here: off the lists for new plans, cannot pair
	Made  Stamp
}
