package standards

import (
	"net/http"

	"knownwater"
	"knownwater/bench/standards"
	"knownwater/science/known"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// itemPage is the form of one thing on the shelf, its versions, and for a stock
// the weighing of its bottle.
type itemPage struct {
	Kind   standards.ItemKind
	Name   string
	Old    standards.Item // ID 0: a new one
	Form   *form.Form
	Bottle *form.Form

	Additions *form.Form // of a water, to measure what it holds
	Estimate  *additionsView
	Methods   []knownwater.MethodVersion

	Versions []standards.Item
	Kinds    []known.DeviceKind
	Salts    []known.Salt
	Analytes []string
	Devices  map[string][]string // flasks and scales by kind, to choose from
	Rows     []int               // of backgrounds
}

// itemNames are the kinds of things, as pages name them.
var itemNames = map[standards.ItemKind]string{standards.DeviceItem: "device", standards.StockItem: "stock", standards.WaterItem: "salt water"}

func (s *Pages) newItem(w http.ResponseWriter, r *http.Request) {
	kind := standards.ItemKind(r.URL.Query().Get("kind"))
	if itemNames[kind] == "" {
		kind = standards.DeviceItem
	}
	f := &form.Form{Values: map[string][]string{}}
	f.SetScale(unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"})
	f.Set("kind", string(known.Flask))
	f.Set(background("analyte", 0), "nitrate")
	f.Set(background("unit", 0), "mg/L")
	f.Set(background("basis", 0), "NO3")
	s.showItem(w, r, http.StatusOK, itemPage{Kind: kind, Form: f})
}

func (s *Pages) item(w http.ResponseWriter, r *http.Request) {
	x, err := s.Bench.Item(r.Context(), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.showItem(w, r, http.StatusOK, itemPage{Kind: x.Spec.Kind, Old: x, Form: itemForm(x.Spec)})
}

// showItem fills in what the form is chosen from.
func (s *Pages) showItem(w http.ResponseWriter, r *http.Request, status int, p itemPage) {
	ctx := r.Context()
	p.Name, p.Kinds, p.Salts, p.Analytes = itemNames[p.Kind], known.DeviceKinds, known.Salts, unit.Analytes()
	if p.Bottle == nil {
		p.Bottle = &form.Form{}
	}
	if p.Additions == nil {
		p.Additions = &form.Form{}
	}
	items, err := s.Bench.Shelf(ctx)
	if err == nil && p.Kind == standards.WaterItem {
		p.Methods, err = s.Bench.Methods(ctx)
	}
	if err == nil && p.Old.ID != 0 {
		p.Versions, err = s.Bench.ItemVersions(ctx, p.Old.ID)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p.Devices = map[string][]string{}
	for _, x := range items {
		if x.Spec.Kind == standards.DeviceItem && !x.Retired {
			kind := string(x.Spec.Device.Kind)
			p.Devices[kind] = append(p.Devices[kind], x.Spec.Name)
		}
	}
	filled := 0
	for i := range mostBackgrounds {
		if p.Form.Text(background("value", i)) != "" || p.Form.Text(background("u", i)) != "" {
			filled = i + 1
		}
	}
	for i := range min(mostBackgrounds, filled+1) {
		p.Rows = append(p.Rows, i)
	}
	title := page.Reader(r).Language.Say("A {1} for the shelf", p.Name)
	if p.Old.ID != 0 {
		title = p.Old.Spec.Name
	}
	s.Show(w, r, status, "shelf-item", page.Frame{Title: title, Part: "knowns", Page: p})
}

func (s *Pages) saveItem(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p := itemPage{Kind: standards.ItemKind(f.Text("item")), Form: f}
	if r.PathValue("id") != "" {
		if p.Old, err = s.Bench.Item(r.Context(), form.PathID(r, "id")); err != nil {
			s.Fail(w, r, err)
			return
		}
		p.Kind = p.Old.Spec.Kind
	}
	if itemNames[p.Kind] == "" {
		s.Refuse(w, r, http.StatusUnprocessableEntity, "That is nothing for the shelf.", "A device, a stock or a salt water.")
		return
	}
	spec := readItem(f, p.Kind)
	var saved standards.Item
	if !f.Bad() {
		saved, err = s.Bench.SaveItem(r.Context(), page.WhoIs(r), p.Old.ID, spec, f.Text("why"))
	}
	if f.Refused(err) {
		if p.Kind == standards.WaterItem {
			placeBackgrounds(f)
		}
		s.showItem(w, r, http.StatusUnprocessableEntity, p)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "{1} is on the shelf, as version {2}.", saved.Spec.Name, render.ID(int64(saved.Version)))
	http.Redirect(w, r, "/knowns#shelf", http.StatusSeeOther)
}

func (s *Pages) retireItem(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err == nil {
		err = s.Bench.RetireItem(r.Context(), page.WhoIs(r), form.PathID(r, "id"), f.Ticked("retired"))
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/knowns/shelf/"+render.ID(form.PathID(r, "id")), http.StatusSeeOther)
}

// weighBottle notes what has evaporated from a stock between two uses.
func (s *Pages) weighBottle(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	x, err := s.Bench.Item(r.Context(), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	b := standards.BottleWeights{PutBack: f.Number("put_back", form.WantNumber), TakenOut: f.Number("taken_out", form.WantNumber), U: f.Number("u_loss", form.WantNumber), Volume: f.Number("loss_from", form.WantNumber)}
	if !f.Bad() {
		_, err = s.Bench.WeighBottle(r.Context(), page.WhoIs(r), x.ID, b)
	}
	if f.Refused(err) {
		s.showItem(w, r, http.StatusUnprocessableEntity, itemPage{Kind: x.Spec.Kind, Old: x, Form: itemForm(x.Spec), Bottle: f})
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "Noted: what was lost raises the strength of {1} from now on.", x.Spec.Name)
	http.Redirect(w, r, "/knowns/shelf/"+render.ID(x.ID), http.StatusSeeOther)
}

// LooseOfWater are the faults that stand beside no field of a water's form.
func (p itemPage) LooseOfWater() knownwater.Faults {
	fields := []string{"name", "note", "why", "salinity"}
	for i := range mostBackgrounds {
		for _, what := range []string{"analyte", "unit", "basis", "value", "u", "how"} {
			fields = append(fields, background(what, i))
		}
	}
	return p.Form.Loose(fields...)
}
