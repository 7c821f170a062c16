package choices

import (
	"context"
	"errors"
	"net/http"
	"strconv"

	"knownwater/web/page"
)

// waiting is how something stands that is worked out beside a page.
type waiting struct {
	Waits   bool   // it is being worked out
	HowFar  string // … how far, in a sentence
	Stopped bool   // somebody stopped it
}

// on waits for a computation that is not ready, or says that somebody stopped it; done: its result can be shown. say
// words how far it is, {1} of {2}.
func (x *waiting) on(w http.ResponseWriter, r *http.Request, ready bool, err error, howFar func() (done, all int), say string) (done bool, failed error) {
	switch {
	case errors.Is(err, context.Canceled) && r.Context().Err() == nil:
		x.Stopped = true
	case err != nil:
		return false, err
	case !ready:
		x.Waits = true
		if done, all := howFar(); all > 0 {
			x.HowFar = page.Reader(r).Language.Say(say, strconv.Itoa(min(done+1, all)), strconv.Itoa(all))
		}
		w.Header().Set("Refresh", "2") // works without script
	default:
		return true, nil
	}
	return false, nil
}
