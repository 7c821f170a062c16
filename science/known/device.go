package known

import (
	"fmt"
	"math"

	"knownwater/science/errorpart"
)

// DeviceKind is what a device on the shelf is for.
type DeviceKind string

// The kinds of devices.
const (
	Flask   DeviceKind = "flask"          // one-mark volumetric flask, holds Nominal
	OneMark DeviceKind = "pipette"        // one-mark glass pipette, delivers Nominal
	Piston  DeviceKind = "piston pipette" // set to any volume from Smallest to Nominal
	Syringe DeviceKind = "syringe"        // read off a graduation, Smallest to Nominal
	Dropper DeviceKind = "dropper"        // counts drops of volume Nominal
	Scale   DeviceKind = "scale"          // weighs up to Nominal grams
)

// DeviceKinds are all kinds, for messages.
var DeviceKinds = []DeviceKind{Flask, OneMark, Piston, Syringe, Dropper, Scale}

// Device is one piece of glassware, one pipette or one scale on the shelf.
type Device struct {
	Name     string
	Kind     DeviceKind
	Nominal  float64 // mL; a dropper's drop; a scale's capacity in g
	Class    string  // flask and one-mark pipette: A or B
	Smallest float64 // piston and syringe: lowest setting; scale: smallest weight. 0: a tenth of Nominal (scale: 20 steps)
	Step     float64 // piston and syringe: setting step; scale: one step of the last digit. 0: see step()

	Tolerance float64 // ± limit of error in mL (scale: g, of one weighing). 0: from the standard of its kind
	Random    float64 // standard deviation of one delivery, filling or weighing. 0: from the standard or practice
	Gain      float64 // scale: ± share by which it may read wrong throughout, the same every time

	Check *VolumeCheck // the person's own check by weighing water
}

// use is the error of one use of a device at one setting.
type use struct {
	correction float64 // added to what is set
	limitU     float64 // standard uncertainty of what stays the same at every use
	limitShape errorpart.Shape
	limitDF    float64
	limitName  string // uses with one name share this error
	random     float64
	randomDF   float64
}

// adjustable says whether the volume can be chosen.
func (d Device) adjustable() bool { return d.Kind == Piston || d.Kind == Syringe }

// smallest is the lowest setting (scale: smallest weight worth weighing).
func (d Device) smallest() float64 {
	switch {
	case d.Smallest > 0:
		return d.Smallest
	case d.adjustable():
		return d.Nominal / 10
	case d.Kind == Scale:
		return 20 * d.step()
	}
	return d.Nominal
}

// step is the smallest change of setting. Without a step given a piston
// pipette has 1/1000 of its nominal volume, a syringe 1/50 (both common
// practice, no source), a scale 0.01 g.
func (d Device) step() float64 {
	switch {
	case d.Step > 0:
		return d.Step
	case d.Kind == Piston:
		return d.Nominal / 1000
	case d.Kind == Syringe:
		return d.Nominal / 50
	case d.Kind == Scale:
		return 0.01
	}
	return 0
}

// limit is the ± limit of error of one use, and the reason if none is known.
func (d Device) limit() (float64, error) {
	if d.Tolerance > 0 {
		return d.Tolerance, nil
	}
	table, ok := 0.0, true
	switch d.Kind {
	case Flask:
		table, ok = limitOf(flaskLimits, d.Nominal)
	case OneMark:
		table, ok = limitOf(oneMarkLimits, d.Nominal)
	case Piston:
		return pistonLimitOf(d.Nominal).systematic * d.Nominal, nil
	case Syringe:
		if d.Nominal < 5 {
			return smallSyringeLimit * d.Nominal, nil
		}
		return syringeLimit * d.Nominal, nil
	case Dropper:
		return dropLimit * d.Nominal, nil
	case Scale:
		return d.step(), nil // common practice, no source: one step of the last digit
	}
	if !ok {
		return 0, fmt.Errorf("no limit of error is listed for a %s of %g mL", d.Kind, d.Nominal)
	}
	switch d.Class {
	case "A", "a":
		return table, nil
	case "B", "b", "":
		return 2 * table, nil // no class marked: the wider one
	}
	return 0, fmt.Errorf("class %q", d.Class)
}

// use is the error of one use at a setting (mL or g). It is called for
// devices that passed Check, where the limit is known.
func (d Device) use(setting float64) use {
	if d.Check != nil && d.Check.covers(setting) {
		return d.Check.use(d.Name)
	}
	limit, _ := d.limit()
	u := use{limitU: errorpart.RectangularU(limit), limitShape: errorpart.Rectangular, limitName: "device " + d.Name, random: d.Random}
	switch d.Kind {
	case Flask, OneMark:
		// CG4 A1: values near the mark are likelier, as makers aim for it.
		u.limitU, u.limitShape = errorpart.TriangularU(limit), errorpart.Triangular
		if u.random == 0 {
			u.random = fillShare * limit
		}
	case Piston:
		if u.random == 0 {
			u.random = pistonLimitOf(d.Nominal).random * d.Nominal
		}
	case Syringe:
		if u.random == 0 {
			u.random = math.Hypot(syringeRandom*d.Nominal, errorpart.RectangularU(d.step()/2))
		}
	case Dropper:
		if u.random == 0 {
			u.random = dropRandom * d.Nominal
		}
	case Scale:
		u.random = math.Hypot(d.Random, weighingResolutionU(d.step()))
	}
	return u
}

// weighingResolutionU is the standard uncertainty of a net weight from the
// rounding of its two readings (tare and gross) to the last digit, each
// rectangular within half a step: step/√12·√2.
func weighingResolutionU(step float64) float64 { return errorpart.RectangularU(step/2) * math.Sqrt2 }
