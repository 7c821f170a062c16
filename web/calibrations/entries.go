package calibrations

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"time"

	"knownwater"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/wording"
)

// waiting is a result that a phone kept while the bench was out of reach: the fields of the
// form of tonight's reading.
type waiting struct {
	Key    string              `json:"key"`
	Fields map[string][]string `json:"fields"`
	At     time.Time           `json:"taken_at"`
}

type refusedResult struct {
	Key string `json:"key"`
	Why string `json:"why"`
}

// mostWaiting results come in one request.
const mostWaiting = 200

// keepWaiting keeps what waited on a phone, each exactly once by its key: what is refused is
// named, so that the phone says so and does not send it again.
func (s *Pages) keepWaiting(w http.ResponseWriter, r *http.Request) {
	r.Header.Set("Accept", "application/json")
	var in struct {
		Entries []waiting `json:"entries"`
	}
	if err := json.NewDecoder(r.Body).Decode(&in); err != nil {
		if large := (*http.MaxBytesError)(nil); errors.As(err, &large) {
			s.Fail(w, r, err)
			return
		}
		s.Refuse(w, r, http.StatusBadRequest, "the results are no JSON", err.Error())
		return
	}
	if len(in.Entries) > mostWaiting {
		s.Refuse(w, r, http.StatusRequestEntityTooLarge, "too many results at once", "send 200 at most")
		return
	}
	answer := struct {
		Kept    []string        `json:"kept"`
		Refused []refusedResult `json:"refused,omitempty"`
	}{Kept: []string{}}
	for _, e := range in.Entries {
		err := s.keepOne(r, e)
		no, refused := refusal(page.Reader(r).Language, err)
		switch {
		case err == nil:
			answer.Kept = append(answer.Kept, e.Key)
		case refused:
			answer.Refused = append(answer.Refused, refusedResult{e.Key, no})
		default:
			s.Fail(w, r, err)
			return
		}
	}
	s.WriteJSON(w, http.StatusOK, answer)
}

// keepOne goes the way of the form.
func (s *Pages) keepOne(r *http.Request, e waiting) error {
	f := &form.Form{Values: url.Values(e.Fields)}
	p := readPage{Form: f, Before: f.Values["before"]}
	if err := s.choose(r.Context(), s.ReaderOn(r, "read"), &p); err != nil {
		return err
	}
	if p.Chosen == nil || p.Water == nil {
		return &knownwater.Refusal{Kind: knownwater.NotFound, Words: "its water or method is no longer here"}
	}
	q, err := s.question(r.Context(), &p, p.readings())
	if err != nil {
		return err
	}
	k := kept{Key: e.Key, Program: s.Options.Version, TakenAt: e.At}
	p.sample(f, &k)
	if f.Bad() {
		return f.Faults()
	}
	_, err = p.Chosen.keep(r.Context(), page.WhoIs(r), q, k)
	return err
}

// refusal tells what sending again cannot mend from trouble that passes.
func refusal(l *wording.Language, err error) (string, bool) {
	if faults := form.FaultsOf(err); faults != nil {
		return form.Sentence(l, faults[0]), true
	}
	var no *knownwater.Refusal
	if !errors.As(err, &no) || no.Kind == knownwater.Full || no.Kind == knownwater.InUse || no.Kind == knownwater.ReadOnly {
		return "", false
	}
	return no.Say(l.Say), true
}
