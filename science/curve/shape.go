package curve

import "knownwater/science/response"

// Shape is how the signal follows the concentration c, in the words of package
// response.
type Shape = response.Name

// The shapes that a curve may have.
const (
	Line       = response.Line
	Quadratic  = response.Quadratic
	Cubic      = response.Cubic
	Saturating = response.Saturating
	StrayLight = response.StrayLight
	DeadZone   = response.DeadZone
)
