package trials

import (
	"encoding/json"
	"errors"
	"net/http"
	"strconv"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// runPage is the run screen: everything that a phone needs to go on without a
// connection, and nothing of level, role or another's reading.
type runPage struct {
	Sheet runSheet
	Title string
	Trial int64
}

// runSheet is what the script of the run screen reads.
type runSheet struct {
	Bench string                `json:"bench"` // tells this bench from another at the same address
	URL   string                `json:"url"`
	Run   trials.Run            `json:"run"`
	Pads  map[string]render.Pad `json:"pads"` // by method version
	Flags []trials.Flag         `json:"flags"`
	Words map[string]string     `json:"words,omitempty"` // what the script says in the reader's language, by its English
	Comma bool                  `json:"comma,omitempty"` // numbers are shown with a decimal comma
}

func (s *Pages) run(w http.ResponseWriter, r *http.Request) {
	id := form.PathID(r, "id")
	if page.WhoIs(r).Person == 0 {
		s.Tell(r, "Say first who reads: choose your name below.")
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	session, _ := strconv.Atoi(r.URL.Query().Get("session"))
	run, err := s.Bench.Run(r.Context(), page.WhoIs(r), id, session)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	t, err := s.Bench.Trial(r.Context(), page.WhoIs(r), id)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	as := s.ReaderOn(r, "run")
	sheet := runSheet{Bench: strconv.FormatInt(t.Made.At.Unix(), 36), URL: "/trials/" + render.ID(id), Run: run, Pads: pads(as, run), Flags: trials.Flags, Words: s.words(as.Language), Comma: as.Comma()}
	s.Show(w, r, http.StatusOK, "run", page.Frame{Title: as.Language.Say("At the bench: {1}", run.Title), Part: "trials", Page: runPage{sheet, run.Title, id}})
}

func (s *Pages) runJSON(w http.ResponseWriter, r *http.Request) {
	session, _ := strconv.Atoi(r.URL.Query().Get("session"))
	run, err := s.Bench.Run(r.Context(), page.WhoIs(r), form.PathID(r, "id"), session)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.WriteJSON(w, http.StatusOK, run)
}

// words are what the scripts of the run screen say, in a language; none in English.
func (s *Pages) words(l *wording.Language) map[string]string {
	if l.English() {
		return nil
	}
	out := map[string]string{}
	for _, m := range s.Said {
		out[m] = l.Say(m)
	}
	for _, f := range trials.Flags {
		out[string(f)] = l.Say(string(f))
	}
	return out
}

func pads(as render.Reader, run trials.Run) map[string]render.Pad {
	out := map[string]render.Pad{}
	for _, m := range run.Methods {
		out[render.ID(m.VersionID)] = as.Pad(m.Spec)
	}
	return out
}

// entry is one thing that a phone sends: a start, a reading, or an undo.
type entry struct {
	Kind   string `json:"kind"` // start, keep, back
	Reader int64  `json:"reader"`
	Old    string `json:"old"` // back: the key of what is taken back
	trials.NewReading
}

type entriesAnswer struct {
	Kept    []string       `json:"kept"`
	Refused []refusedEntry `json:"refused,omitempty"`
}

type refusedEntry struct {
	Key string `json:"key"`
	Why string `json:"why"`
}

// mostEntries is how many entries one request may hold.
const mostEntries = 200

// entries keeps what a phone sends, in its order. Each is named in the answer
// as kept or refused; what is in neither list (we failed on the way) the phone
// sends again, and nothing is kept twice.
func (s *Pages) entries(w http.ResponseWriter, r *http.Request) {
	r.Header.Set("Accept", "application/json")
	var in struct {
		Entries []entry `json:"entries"`
	}
	if err := json.NewDecoder(r.Body).Decode(&in); err != nil {
		if large := (*http.MaxBytesError)(nil); errors.As(err, &large) {
			s.Fail(w, r, err)
			return
		}
		s.Refuse(w, r, http.StatusBadRequest, wording.Key("the entries are no JSON"), err.Error())
		return
	}
	if len(in.Entries) > mostEntries {
		s.Refuse(w, r, http.StatusRequestEntityTooLarge, wording.Key("too many entries at once"), wording.Key("send 200 at most"))
		return
	}
	answer, l := entriesAnswer{Kept: []string{}}, s.ReaderOn(r, "run").Language
	for _, e := range in.Entries {
		err := s.keepEntry(r, e)
		why, refused := refusedWhy(l, err)
		switch {
		case err == nil:
			answer.Kept = append(answer.Kept, e.Key)
		case refused:
			answer.Refused = append(answer.Refused, refusedEntry{e.Key, why})
		default:
			s.Fail(w, r, err)
			return
		}
	}
	s.WriteJSON(w, http.StatusOK, answer)
}

func (s *Pages) keepEntry(r *http.Request, e entry) error {
	ctx, by := r.Context(), page.WhoIs(r)
	if e.Reader != by.Person {
		return &knownwater.Refusal{Kind: knownwater.NotAllowed, Words: wording.Key("it was read by somebody else than this phone is paired with")}
	}
	var err error
	switch e.Kind {
	case "start":
		err = s.Bench.StartVial(ctx, by, trials.VialStart{Key: e.Key, Vial: e.Vial, StartedAt: e.StartedAt})
	case "keep":
		_, err = s.Bench.KeepReading(ctx, by, e.NewReading)
	case "back":
		_, err = s.Bench.TakeBack(ctx, by, e.Old, e.Key)
	default:
		err = &knownwater.Refusal{Kind: knownwater.NotAllowed, Words: wording.Key("it is neither a start nor a reading nor an undo")}
	}
	return err
}

// refusedWhy tells a refusal that sending again cannot mend from trouble that
// passes (a full disk, a busy file), after which the phone tries again.
func refusedWhy(l *wording.Language, err error) (string, bool) {
	if faults := form.FaultsOf(err); faults != nil {
		return form.Sentence(l, faults[0]), true
	}
	var no *knownwater.Refusal
	if !errors.As(err, &no) {
		return "", false
	}
	switch no.Kind {
	case knownwater.NotFound, knownwater.NotAllowed, knownwater.Sealed, knownwater.WrongState, knownwater.AlreadyRead, knownwater.TooLarge:
		return no.Say(l.Say), true
	}
	return "", false
}

// keepPhoto takes the bytes of one picture and answers the name to put into the
// reading.
func (s *Pages) keepPhoto(w http.ResponseWriter, r *http.Request) {
	r.Header.Set("Accept", "application/json")
	name, err := s.Bench.KeepPhoto(r.Context(), page.WhoIs(r), r.Body)
	if faults := form.FaultsOf(err); faults != nil {
		s.Refuse(w, r, http.StatusUnsupportedMediaType, form.Sentence(s.ReaderOn(r, "run").Language, faults[0]), "")
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.WriteJSON(w, http.StatusOK, map[string]string{"name": name})
}

// photo sends a kept picture back, so that no browser takes it for a page.
func (s *Pages) photo(w http.ResponseWriter, r *http.Request) {
	data, kind, err := s.Bench.Photo(r.Context(), page.WhoIs(r), r.PathValue("name"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if kind != "image/png" {
		kind = "image/jpeg"
	}
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Security-Policy", "default-src 'none'; sandbox")
	h.Set("Content-Disposition", "inline; filename=photo")
	w.Write(data)
}
