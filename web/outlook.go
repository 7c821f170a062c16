package web

import (
	"context"
	"encoding/json"
	"sync"

	"knownwater/bench"
	"knownwater/science/plan"
)

// outlooks remembers the last few forecasts, so that looking at a page again
// does not simulate again, and lets one be made at a time: each takes the whole
// machine for seconds.
type outlooks struct {
	making sync.Mutex

	mu   sync.Mutex
	last []madeOutlook
}

type madeOutlook struct {
	key     string
	outlook plan.Outlook
}

const keptOutlooks = 16

func (o *outlooks) of(ctx context.Context, b *bench.Bench, p bench.Plan) (plan.Outlook, error) {
	text, err := json.Marshal(p)
	if err != nil {
		return plan.Outlook{}, err
	}
	if found, ok := o.find(string(text)); ok {
		return found, nil
	}
	o.making.Lock()
	defer o.making.Unlock()
	if found, ok := o.find(string(text)); ok {
		return found, nil
	}
	made, err := b.Forecast(ctx, p, 0)
	if err != nil || made.Runs < made.Wanted {
		return made, err // not all of it: not remembered
	}
	o.mu.Lock()
	defer o.mu.Unlock()
	o.last = append(o.last, madeOutlook{string(text), made})
	if len(o.last) > keptOutlooks {
		o.last = o.last[1:]
	}
	return made, nil
}

func (o *outlooks) find(key string) (plan.Outlook, bool) {
	o.mu.Lock()
	defer o.mu.Unlock()
	for _, m := range o.last {
		if m.key == key {
			return m.outlook, true
		}
	}
	return plan.Outlook{}, false
}
