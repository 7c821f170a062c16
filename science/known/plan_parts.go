package known

import (
	"math"

	"knownwater/science/errorpart"
)

// The planner's fast form of the budget. Evaluate differentiates the whole
// preparation; here the same law is written out for one chain, so that
// hundreds of thousands of ways can be weighed. A test holds the two together.

// term is a relative error that other steps may share: an identity and a
// signed size. The zero id is no error.
type term struct {
	id   int
	size float64
}

// step is one measurement, seen as relative errors of what it measures.
type step struct {
	tool   int // which device
	kind   DeviceKind
	amount float64 // mL or g
	times  int
	volume float64 // mL that it stands for
	shared [2]term // limit of the device; gain of a scale, or density of the stock
	own    float64 // relative variance that nothing else shares
}

// ids gives error names small numbers, from 1.
type ids map[string]int

func (n ids) of(name string) int {
	if i, found := n[name]; found {
		return i
	}
	n[name] = len(n) + 1
	return n[name]
}

// tool is a device with what the search needs of it at hand.
type tool struct {
	index       int
	device      Device
	limitID     int
	checkID     int
	gainID      int
	plain       use
	checked     use
	gainU       float64
	temperature float64 // relative variance of a volume
}

func newTool(index int, d Device, n ids, temperatureVariance float64) tool {
	t := tool{index: index, device: d, limitID: n.of("device " + d.Name), checkID: n.of("device " + d.Name + " as checked"), gainID: n.of("gain of " + d.Name)}
	bare := d
	bare.Check = nil
	t.plain = bare.use(d.Nominal)
	if d.Check != nil {
		t.checked = d.use(d.Check.Setting)
	}
	t.gainU = errorpart.RectangularU(d.Gain)
	t.temperature = temperatureVariance
	return t
}

// use is the error at a setting; the limits of all kinds here are the same at
// every setting, but for the one that was checked.
func (t *tool) use(setting float64) (*use, int) {
	if t.device.Check != nil && t.device.Check.covers(setting) {
		return &t.checked, t.checkID
	}
	return &t.plain, t.limitID
}

// pour is a volume of times·amount by this tool.
func (t *tool) pour(amount float64, times int) step {
	u, id := t.use(amount)
	n := float64(times)
	v := n * (amount + u.correction)
	return step{
		tool: t.index, kind: t.device.Kind, amount: amount, times: times,
		volume: v,
		shared: [2]term{{id, n * u.limitU / v}},
		own:    n*sq(u.random/v) + t.temperature*sq(n*amount/v),
	}
}

// weigh is a weight on this scale; perGram turns g on display into mL.
func (t *tool) weigh(amount, perGram float64) step {
	return step{
		tool: t.index, kind: t.device.Kind, amount: amount, times: 1,
		volume: amount * perGram,
		shared: [2]term{{t.gainID, t.gainU}},
		own:    (sq(t.plain.limitU) + sq(t.plain.random)) / sq(amount),
	}
}

// maxDrops is as far as a person counts drops without losing count.
const maxDrops = 60

// take is the nearest this tool comes to a volume of a liquid, with at most
// so many deliveries; perGram as in weigh, density the error of it (by weight).
func (t *tool) take(volume float64, most int, perGram float64, density term) (step, bool) {
	d := &t.device
	switch d.Kind {
	case Scale:
		amount := onStep(volume/perGram, d.step())
		if amount < d.smallest() || amount > d.Nominal {
			return step{}, false
		}
		s := t.weigh(amount, perGram)
		s.shared[1] = density
		return s, true
	case OneMark, Dropper:
		if d.Kind == Dropper {
			most = maxDrops
		}
		u, _ := t.use(d.Nominal)
		times := int(math.Round(volume / (d.Nominal + u.correction)))
		if times < 1 || times > most {
			return step{}, false
		}
		return t.pour(d.Nominal, times), true
	case Piston, Syringe:
		times := int(math.Ceil(volume/d.Nominal - 1e-6))
		if times < 1 {
			times = 1
		}
		u, _ := t.use(volume / float64(times))
		amount := onStep(volume/float64(times)-u.correction, d.step())
		if times > most || amount < d.smallest()*(1-1e-9) || amount > d.Nominal*(1+1e-9) {
			return step{}, false
		}
		return t.pour(amount, times), true
	}
	return step{}, false
}

// onStep rounds to a multiple of a step, without tails like 0.30000000000000004.
func onStep(v, step float64) float64 {
	if step <= 0 {
		return v
	}
	places := math.Pow10(int(math.Ceil(-math.Log10(step))) + 2)
	return math.Round(math.Round(v/step)*step*places) / places
}

// source is a liquid that standards can be made from: a stock, or an
// intermediate made from one.
type source struct {
	name    string
	c       float64 // mg/L
	fresh   float64 // share of it that is not matrix
	density float64
	volume  float64 // mL there is; infinite where not limited
	own     float64 // variance of c that nothing else shares, (mg/L)²
	shared  []term  // signed sizes on c, mg/L
	weight  term    // density error when weighed, relative

	made     *Solution // set for an intermediate
	parent   int       // the source that it is made from
	price    float64   // of making it
	takes    float64   // mL of the parent
	matrix   float64   // mL of matrix
	measured int
}

// way is one way to make a level from a source.
type way struct {
	score    float64
	c, u     float64
	take     step
	whole    step
	uses     float64 // mL of the source
	matrix   float64 // mL of the matrix
	measured int
}

// damping is how much of an error in what is taken stays in the ratio r of
// volumes: all of it where the whole is a flask's volume, less where the whole
// is weighed and so grows with what is taken.
type damping struct{ amount, density float64 }

// variance of c = r·C + (1−r)·b for a source and two steps, k = (C − b)·r being
// the change with ln r.
func (p *planner) variance(src *source, take, whole *step, r float64, damp damping) float64 {
	k := (src.c - p.background) * r
	v := r*r*src.own + k*k*(sq(damp.amount)*take.own+whole.own)
	v += sq((1 - r*src.fresh) * p.uBackground)
	fresh := [4]term{
		{take.shared[0].id, k * damp.amount * take.shared[0].size}, {take.shared[1].id, k * damp.density * take.shared[1].size},
		{whole.shared[0].id, -k * whole.shared[0].size}, {whole.shared[1].id, -k * whole.shared[1].size},
	}
	for _, t := range src.shared { // parts of the source, with what these steps add to them
		size := r * t.size
		for i := range fresh {
			if fresh[i].id == t.id {
				size += fresh[i].size
				fresh[i].id = 0
			}
		}
		v += size * size
	}
	for i := range fresh {
		if fresh[i].id == 0 {
			continue
		}
		size := fresh[i].size
		for j := i + 1; j < len(fresh); j++ {
			if fresh[j].id == fresh[i].id {
				size += fresh[j].size
				fresh[j].id = 0
			}
		}
		v += size * size
	}
	return v
}
