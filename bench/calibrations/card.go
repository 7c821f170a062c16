package calibrations

import (
	"context"
	"fmt"
	"math"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/reading"
	"knownwater/science/result"
)

// Card is what every step of a method says, by a version of its record: to lie beside the
// chart or the meter.
type Card struct {
	Record   Record
	Method   knownwater.Method
	Dilution float64 // 1: none
	Readers  []string
	Lots     []string
	Nitrite  *assess.NitriteFinding // what the method makes of nitrite; nil: its trial does not say
	Rows     []CardRow              // from the lowest step up
}

// CardRow is a step: what it says read by anybody, and by each of the readers.
type CardRow struct {
	Text     string
	Anybody  result.Outcome
	ByReader []result.Outcome // in the order of Readers
}

// cardKey is what a card is worked out from; mostCards are remembered.
type cardKey struct {
	version  int64
	dilution float64
}

const mostCards = 40

// mostOnCard is how many steps of a display are picked.
const mostOnCard = 14

// CardOf works out the card of a record's version at a dilution.
func (b *Operations) CardOf(ctx context.Context, r Record, dilution float64) (c Card, err error) {
	key := cardKey{r.VersionID, dilution}
	if c, ok := b.cards.Find(key); ok {
		return c, nil
	}
	p, err := b.Performance(ctx, r)
	if err != nil {
		return c, err
	}
	c = Card{Record: r, Method: p.Method, Dilution: dilution, Readers: p.Readers, Lots: p.Lots, Nitrite: p.Nitrite}
	for _, text := range cardSteps(p.Method) {
		row := CardRow{Text: text}
		ask := func(reader string) (result.Outcome, error) {
			lot := ""
			if len(p.Lots) == 1 {
				lot = p.Lots[0]
			}
			return p.Read(result.Question{Readings: []string{text}, Reader: reader, Lot: lot, Dilution: dilution})
		}
		if row.Anybody, err = ask(""); err != nil {
			return c, inForm(err)
		}
		for _, who := range p.Readers {
			o, err := ask(who)
			if err != nil {
				return c, inForm(err)
			}
			row.ByReader = append(row.ByReader, o)
		}
		c.Rows = append(c.Rows, row)
	}
	return b.cards.Of(key, func() Card { return c }), nil
}

// cardSteps are the readings that a method can show; of a display some, evenly along what
// its range or its resolution lets expect.
func cardSteps(m knownwater.Method) (out []string) {
	if tiles := reading.Tiles(reading.Own(m)); len(tiles) > 0 {
		for _, t := range tiles {
			out = append(out, t.Text)
		}
		return out
	}
	if m.DropValue > 0 {
		for n := 1; n <= mostOnCard; n++ {
			out = append(out, fmt.Sprintf("%dd", n))
		}
		return out
	}
	own := reading.Own(m)
	top := 20.0
	if own.Range != nil {
		top = own.Range.High
	}
	for i := range mostOnCard {
		v := top * math.Pow(float64(i)/(mostOnCard-1), 1.6)
		if own.Resolution > 0 {
			v = math.Round(v/own.Resolution) * own.Resolution
		}
		text := reading.Format(math.Round(v*1e6) / 1e6)
		if len(out) == 0 || out[len(out)-1] != text {
			out = append(out, text)
		}
	}
	return out
}
