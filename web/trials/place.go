package trials

import (
	"net/http"

	"knownwater/bench/trials"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// placed is what the next page says of a change.
var placed = map[trials.Place]string{
	trials.Here:     wording.Key("It stands in the lists."),
	trials.Archived: wording.Key("It is put away: it stands below the list of trials, and everything in it stays as it is."),
	trials.Removed:  wording.Key("It is taken out: it stands below the list of trials, and no new record is made of it. Nothing of it is deleted."),
}

// place renames a trial, puts it away, takes it out or brings it back.
func (s *Pages) place(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	ctx, by, id := r.Context(), page.WhoIs(r), form.PathID(r, "id")
	t, err := s.Bench.Trial(ctx, by, id)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	to := trials.Placing{Title: t.Plan.Title, Place: trials.Place(f.Text("place")), Why: f.Text("why")}
	if to.Place == "" {
		to.Title, to.Place = f.Text("title"), t.Place
	}
	err = s.Bench.PlaceTrial(ctx, by, id, to)
	if f.Refused(err) {
		s.showTrialWith(w, r, http.StatusUnprocessableEntity, trialPage{Form: f})
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	said := page.Reader(r).Language.Say(placed[to.Place])
	if to.Title != t.Plan.Title {
		said = page.Reader(r).Language.Say("It is called “{1}” now.", to.Title)
	}
	s.Tell(r, "{1} Below, “Undo” goes back on it.", said)
	http.Redirect(w, r, "/trials/"+render.ID(id)+"#place", http.StatusSeeOther)
}

// unplace goes back on the last of those changes.
func (s *Pages) unplace(w http.ResponseWriter, r *http.Request) {
	id := form.PathID(r, "id")
	if err := s.Bench.UndoPlace(r.Context(), page.WhoIs(r), id); err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "Undone: it is called and stands as before.")
	http.Redirect(w, r, "/trials/"+render.ID(id)+"#place", http.StatusSeeOther)
}
