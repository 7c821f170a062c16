package bench

import (
	"knownwater"
)

// Names that moved to the root, while pages still call them by their old ones.
type (
	Role        = knownwater.Role
	Who         = knownwater.Who
	Stamp       = knownwater.Stamp
	Person      = knownwater.Person
	RefusalKind = knownwater.RefusalKind
	Refusal     = knownwater.Refusal
	MethodSpec  = knownwater.MethodSpec
	Swatch      = knownwater.Swatch
	Step        = knownwater.Step
	Dilution    = knownwater.Dilution
	Method      = knownwater.MethodVersion
	Lot         = knownwater.Lot
	NeedEntry   = knownwater.NeedEntry
)

const (
	Owner       = knownwater.Owner
	Reader      = knownwater.Reader
	NotFound    = knownwater.NotFound
	NotAllowed  = knownwater.NotAllowed
	Sealed      = knownwater.Sealed
	WrongState  = knownwater.WrongState
	AlreadyRead = knownwater.AlreadyRead
	TooMany     = knownwater.TooMany
	InUse       = knownwater.InUse
	Newer       = knownwater.Newer
	Damaged     = knownwater.Damaged
	Full        = knownwater.Full
	ReadOnly    = knownwater.ReadOnly
	TooLarge    = knownwater.TooLarge
)
