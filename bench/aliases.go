package bench

import (
	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/bench/exchange"
	"knownwater/bench/people"
	"knownwater/bench/standards"
	"knownwater/bench/trials"
)

// Names that moved to the root and to the subjects, while the pages still call
// them by their old ones.
type (
	Role            = knownwater.Role
	Who             = knownwater.Who
	Stamp           = knownwater.Stamp
	Person          = knownwater.Person
	RefusalKind     = knownwater.RefusalKind
	Refusal         = knownwater.Refusal
	MethodSpec      = knownwater.MethodSpec
	Swatch          = knownwater.Swatch
	Step            = knownwater.Step
	Dilution        = knownwater.Dilution
	Method          = knownwater.MethodVersion
	Lot             = knownwater.Lot
	NeedEntry       = knownwater.NeedEntry
	AdditionRow     = standards.AdditionRow
	Additions       = standards.Additions
	BackgroundSpec  = standards.BackgroundSpec
	BottleWeights   = standards.BottleWeights
	Copy            = exchange.Copy
	Costs           = trials.Costs
	Curve           = calibrations.Curve
	CurveChoices    = calibrations.CurveChoices
	CurvePoint      = calibrations.CurvePoint
	CurveSpec       = calibrations.CurveSpec
	DeviceSpec      = standards.DeviceSpec
	Event           = trials.Event
	Exclusion       = trials.Exclusion
	FindingsOptions = trials.FindingsOptions
	Flag            = trials.Flag
	Item            = standards.Item
	ItemKind        = standards.ItemKind
	ItemSpec        = standards.ItemSpec
	Kept            = trials.Kept
	KeptRecheck     = calibrations.KeptRecheck
	KeyRecord       = trials.KeyRecord
	Known           = trials.Known
	Label           = trials.Label
	LimitsSpec      = standards.LimitsSpec
	Made            = standards.Made
	MeasureSpec     = standards.MeasureSpec
	MethodCost      = trials.MethodCost
	Mine            = trials.Mine
	MyTrial         = trials.MyTrial
	NewReading      = trials.NewReading
	NewResult       = calibrations.NewResult
	OwnCheck        = standards.OwnCheck
	Pairing         = people.Pairing
	Plan            = trials.Plan
	PlanMethod      = trials.PlanMethod
	PointUse        = calibrations.PointUse
	PrepRow         = trials.PrepRow
	PrepVials       = trials.PrepVials
	PreparedSet     = standards.PreparedSet
	Progress        = trials.Progress
	Proposal        = trials.Proposal
	Provenance      = trials.Provenance
	Reading         = trials.Reading
	ReadingFilter   = trials.ReadingFilter
	Recheck         = calibrations.Recheck
	RecheckKnown    = calibrations.RecheckKnown
	Result          = calibrations.Result
	ResultFilter    = calibrations.ResultFilter
	Run             = trials.Run
	RunLot          = trials.RunLot
	RunMethod       = trials.RunMethod
	RunVial         = trials.RunVial
	SessionCost     = trials.SessionCost
	SessionEntry    = people.SessionEntry
	Sessions        = people.Sessions
	SetSpec         = standards.SetSpec
	SheetRow        = trials.SheetRow
	ShelfRef        = standards.ShelfRef
	ShelfSpec       = standards.ShelfSpec
	SlopeUpdate     = calibrations.SlopeUpdate
	SolutionSpec    = standards.SolutionSpec
	StandardChain   = trials.StandardChain
	StandardReading = standards.StandardReading
	StandardsPlan   = standards.StandardsPlan
	State           = trials.State
	StockSpec       = standards.StockSpec
	Trial           = trials.Trial
	TrialFindings   = trials.TrialFindings
	VialStart       = trials.VialStart
	Wanted          = standards.Wanted
	WaterSpec       = standards.WaterSpec
	WeighedSpec     = standards.WeighedSpec
	Standing        = trials.TrialFindings
)

const (
	Owner              = knownwater.Owner
	Reader             = knownwater.Reader
	NotFound           = knownwater.NotFound
	NotAllowed         = knownwater.NotAllowed
	Sealed             = knownwater.Sealed
	WrongState         = knownwater.WrongState
	AlreadyRead        = knownwater.AlreadyRead
	TooMany            = knownwater.TooMany
	InUse              = knownwater.InUse
	Newer              = knownwater.Newer
	Damaged            = knownwater.Damaged
	Full               = knownwater.Full
	ReadOnly           = knownwater.ReadOnly
	TooLarge           = knownwater.TooLarge
	Bubbles            = trials.Bubbles
	DeviceItem         = standards.DeviceItem
	FewestBlanks       = trials.FewestBlanks
	Finished           = trials.Finished
	ForCheck           = calibrations.ForCheck
	ForFit             = calibrations.ForFit
	ForNone            = calibrations.ForNone
	Late               = trials.Late
	MostPhotoBytes     = trials.MostPhotoBytes
	Opened             = trials.Opened
	Other              = trials.Other
	Planned            = trials.Planned
	Running            = trials.Running
	SealedUp           = trials.SealedUp
	ShortestPassphrase = people.ShortestPassphrase
	Spilled            = trials.Spilled
	StockItem          = standards.StockItem
	WaterItem          = standards.WaterItem
)

var (
	BackupFile      = exchange.BackupFile
	CompareCurves   = calibrations.CompareCurves
	CurveShapes     = calibrations.CurveShapes
	CurveSignals    = calibrations.CurveSignals
	CurveWeights    = calibrations.CurveWeights
	DefaultLimits   = standards.DefaultLimits
	Flags           = trials.Flags
	ReExpress       = calibrations.ReExpress
	RecheckDilution = calibrations.RecheckDilution
	Restore         = exchange.Restore
	Verify          = exchange.Verify
)
