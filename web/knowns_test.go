package web

import (
	"context"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// stockForm, waterForm and the devices are the shelf of the tests; all invented.
func stockForm() url.Values {
	return form1("item", "stock", "name", "bottle A", "analyte", "nitrate", "unit", "mg/L", "basis", "NO3", "value", "1000", "expanded", "6", "k", "2", "expires", "2099-06-30", "left", "250")
}

func waterForm() url.Values {
	return form1("item", "water", "name", "salt mix 7", "salinity", "35", "bg_analyte_0", "nitrate", "bg_unit_0", "mg/L", "bg_basis_0", "NO3", "bg_value_0", "0.259", "bg_u_0", "0.028", "bg_how_0", "standard addition")
}

// shelve puts a stock, a water and three devices on the shelf.
func (s *site) shelve() {
	s.t.Helper()
	s.must("/knowns/shelf/new", form1("item", "device", "name", "flask 250", "kind", "flask", "nominal", "250", "class", "A"))
	s.must("/knowns/shelf/new", form1("item", "device", "name", "pipette 5", "kind", "piston pipette", "nominal", "5", "smallest", "0.5"))
	s.must("/knowns/shelf/new", form1("item", "device", "name", "scale", "kind", "scale", "nominal", "500", "step", "0.01"))
	s.must("/knowns/shelf/new", stockForm())
	s.must("/knowns/shelf/new", waterForm())
}

func wantedForm(do string) url.Values {
	return form1("levels", "0 0.6 3 12 40", "analyte", "nitrate", "unit", "mg/L", "basis", "NO3", "water", "5", "volume", "250", "temperature", "22", "within", "3",
		"level_within", "2", "salinity_cut", "5", "smallest_volume", "0.2", "deliveries", "3", "intermediates", "1", "name", "spring set", "do", do)
}

// field reads what stands in a field of a page.
func fieldOf(page, name string) string {
	m := regexp.MustCompile(`name="` + regexp.QuoteMeta(name) + `"[^>]* value="([^"]*)"`).FindStringSubmatch(page)
	if m == nil {
		return ""
	}
	return m[1]
}

// takenForm is the form of what was taken as the page shows it, all ticked.
func (s *site) takenForm(path string) url.Values {
	s.t.Helper()
	page := s.get(path).body
	v := url.Values{}
	for _, m := range regexp.MustCompile(`name="((?:take|make)_[a-z]+_\w+|made_[a-z]+_\w+)"`).FindAllStringSubmatch(page, -1) {
		v.Set(m[1], fieldOf(page, m[1]))
	}
	for _, m := range regexp.MustCompile(`(?s)<select id="(\w+)".*?</select>`).FindAllStringSubmatch(page, -1) {
		if o := regexp.MustCompile(`value="([^"]*)" selected`).FindStringSubmatch(m[0]); o != nil {
			v.Set(m[1], o[1])
		}
	}
	for _, m := range regexp.MustCompile(`name="made_(\w+)" value="yes"`).FindAllStringSubmatch(page, -1) {
		v.Set("made_"+m[1], "yes")
		v.Set("made_by_"+m[1], "Ines")
	}
	return v
}

// TestKnownsFromEmpty: each page says the next step, up to a set.
func TestKnownsFromEmpty(t *testing.T) {
	s := newSite(t, false)
	for path, want := range map[string]string{"/knowns": "Three things are needed first", "/knowns/plan": "The shelf has no stock", "/knowns/compare": "Do two stocks agree", "/knowns/shelf/new?kind=stock": "By its certificate"} {
		if a := s.get(path); a.StatusCode != 200 || !strings.Contains(laidOut(a.body), want) {
			t.Errorf("%s: status %d, no %q\n%s", path, a.StatusCode, want, inside(a.body))
		}
	}
	s.shelve()
	for path, want := range map[string]string{"/knowns": "Plan standards", "/knowns/shelf/4": "U of the certificate", "/knowns/shelf/5": "salt mix 7", "/knowns/shelf/1": "flask"} {
		if a := s.get(path); a.StatusCode != 200 || !strings.Contains(laidOut(a.body), want) {
			t.Errorf("%s: status %d, no %q\n%s", path, a.StatusCode, want, inside(a.body))
		}
	}
	a := s.post("/knowns/plan", wantedForm("look"))
	for _, want := range []string{"From bottle A", "0.85 %", "The next best way, without scale", "200 g scale with 0.001 g steps", "Keep this plan", "58 % of the doubt"} {
		if !strings.Contains(a.body, want) {
			t.Errorf("the plan does not say %q\n%s", want, inside(a.body))
		}
	}
	if a.StatusCode != 200 || strings.Contains(s.get("/knowns").body, "spring set") {
		t.Errorf("looking kept something, or status %d", a.StatusCode)
	}
}

// TestPrepareAndUse: plan, sheet, other amounts than planned, values that
// follow, and the trial that takes them.
func TestPrepareAndUse(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	s.shelve()
	set := s.must("/knowns/plan", wantedForm("keep"))
	page := s.get(set)
	for _, want := range []string{"planned", "39.96 ± 0.12", "mostly background (100 % of the variance)", "bottle A: 1000 mg/L NO3, U = 6 (k = 2)", "Line by line"} {
		if !strings.Contains(page.body, want) {
			t.Errorf("the set does not say %q", want)
		}
	}
	sheet := s.get(set + "/sheet").body
	for _, want := range []string{"Never pour standards", "feed fires", "children and pets", "Have ready", "taken, g", "Label it"} {
		if !strings.Contains(sheet, want) {
			t.Errorf("the sheet does not say %q", want)
		}
	}
	trial := s.must(set+"/trial", nil)
	if a := s.get(trial); !strings.Contains(a.body, "only planned") {
		t.Errorf("a plan with a set that nobody made does not say so\n%s", inside(a.body))
	}
	if !strings.Contains(s.get("/").body, "Make the standards “spring set”") {
		t.Error("today does not say that standards are to be made")
	}
	v := s.takenForm(set + "/made")
	bad := clone(v)
	bad.Set("take_amount_S5", "a lot")
	bad.Set("make_amount_S4", "-3")
	bad.Set("made_by_S2", "")
	bad.Set("note", "typed before")
	if a := s.post(set+"/made", bad); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, `value="a lot"`) || !strings.Contains(a.body, "“a lot” is no number") || !strings.Contains(a.body, "typed before") {
		t.Errorf("a refused form: status %d\n%s", a.StatusCode, inside(a.body))
	}
	bad.Set("take_amount_S5", "128")
	if a := s.post(set+"/made", bad); a.StatusCode != http.StatusUnprocessableEntity || strings.Count(a.body, `class="wrong"`) != 1 || fieldOf(a.body, "make_amount_S4") != "-3" {
		t.Errorf("faults of the bench: status %d\n%s", a.StatusCode, inside(a.body))
	}
	v.Set("take_amount_S5", "140,1")
	v.Set("use_by", "2099-01-01")
	if at := s.must(set+"/made", v); at != set {
		t.Errorf("led to %s", at)
	}
	page = s.get(set)
	for _, want := range []string{"43.4", "Version</dt><dd>2", "40 was asked for", "140.1 g"} {
		if !strings.Contains(laidOut(page.body), want) {
			t.Errorf("after other amounts the set does not say %q\n%s", want, inside(page.body))
		}
	}
	if a := s.get(set + "?version=1"); !strings.Contains(a.body, "39.96 ± 0.12") {
		t.Error("the first version is gone")
	}
	v.Set("take_amount_S5", "139.9")
	if a := s.post(set+"/made", v); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "no reason") {
		t.Errorf("a change without a why: status %d", a.StatusCode)
	}

	plan := s.smallPlan()
	for _, k := range []string{"known_level_0", "known_u_0", "known_blank_0", "known_label_0", "known_level_1", "known_u_1", "known_level_2", "known_u_2"} {
		plan.Del(k)
	}
	plan.Set("set", "2")
	plan.Set("standard_vials_S5", "4")
	s.must(trial, plan)
	a := s.get(trial)
	if !strings.Contains(a.body, "43.4") || strings.Contains(a.body, "only planned</b>") || fieldOf(a.body, "standard_vials_S5") != "4" {
		t.Errorf("the trial did not take the values:\n%s", inside(a.body))
	}
	plan.Set("do", "seal")
	at := s.must(trial, plan)
	prep := s.post(at+"/preparation", nil).body
	codes := regexp.MustCompile(`bottle <b class="code">([A-Z0-9]{3})</b>`).FindAllStringSubmatch(prep, -1)
	if len(codes) != 5 {
		t.Errorf("the preparation list names %d bottles by code\n%s", len(codes), inside(prep))
	}
	s.must("/me", form1("person", "1"))
	s.readAll(at)
	s.must(at+"/key", form1("why", "only one reader came"))
	for _, path := range []string{at + "/findings", at + "/report.html"} {
		if body := s.get(path).body; !strings.Contains(body, "stock bottle A") || !strings.Contains(body, "spring set") {
			t.Errorf("%s does not tell the way back to the stock", path)
		}
	}
	if body := s.get(set).body; !strings.Contains(body, `data-l="trials">1<`) {
		t.Error("the set does not say that a trial used it")
	}
	s.must(set+"/retire", form1("retired", "yes"))
	if !strings.Contains(s.get("/knowns").body, "poured away") {
		t.Error("nothing says that it was poured away")
	}
}

func clone(v url.Values) url.Values {
	out := url.Values{}
	for k, x := range v {
		out[k] = append([]string(nil), x...)
	}
	return out
}

// TestShelfForms: refused forms keep what was typed, beside the field at fault.
func TestShelfForms(t *testing.T) {
	s := newSite(t, false)
	s.shelve()
	for name, c := range map[string]struct {
		form url.Values
		want string
	}{
		"a stock that is exact":  {form1("item", "stock", "name", "kept text", "analyte", "nitrate", "unit", "mg/L", "value", "1000"), "no stock is exact"},
		"a stock of no salt":     {form1("item", "stock", "name", "kept text", "analyte", "nitrate", "unit", "mg/L", "salt", "KNO3", "mass", "1"), "purity"},
		"a device of no size":    {form1("item", "device", "name", "kept text", "kind", "flask"), "its size in mL"},
		"weights that are words": {form1("item", "device", "name", "kept text", "kind", "flask", "nominal", "100", "class", "A", "check", "99.8\nmuch"), "“much”, is no number"},
		"a water of 0 ± 0":       {form1("item", "water", "name", "kept text", "salinity", "35", "bg_analyte_2", "nitrate", "bg_unit_2", "mg/L", "bg_value_2", "0"), "no salt matrix holds exactly"},
		"a name that is taken":   {form1("item", "device", "name", "scale", "kind", "flask", "nominal", "100", "class", "A", "note", "kept text"), "something else on the shelf"},
	} {
		a := s.post("/knowns/shelf/new", c.form)
		if a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, c.want) || !strings.Contains(a.body, "kept text") || !strings.Contains(a.body, `class="wrong"`) {
			t.Errorf("%s: status %d, want %q beside its field\n%s", name, a.StatusCode, c.want, inside(a.body))
		}
	}
	change := stockForm()
	change.Set("value", "1001")
	if a := s.post("/knowns/shelf/4", change); a.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a change without a why: status %d", a.StatusCode)
	}
	change.Set("why", "the certificate was misread")
	s.must("/knowns/shelf/4", change)
	if body := s.get("/knowns/shelf/4").body; !strings.Contains(body, "the certificate was misread") || fieldOf(body, "value") != "1001" {
		t.Error("the next version is not there")
	}
	if a := s.post("/knowns/shelf/4/bottle", form1("put_back", "300", "taken_out", "301", "u_loss", "0.02", "loss_from", "250")); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, `value="301"`) {
		t.Errorf("a bottle that gained: status %d", a.StatusCode)
	}
	s.must("/knowns/shelf/4/bottle", form1("put_back", "300", "taken_out", "297,5", "u_loss", "0.02", "loss_from", "250"))
	if body := s.get("/knowns/shelf/4").body; !strings.Contains(body, "has lost 1 % of its water") {
		t.Error("the loss is not named")
	}
	for what, c := range map[string]url.Values{"above the stock": form1("levels", "2000"), "no number": form1("levels", "3 many"), "below the water": form1("levels", "0.1")} {
		v := wantedForm("look")
		v.Set("levels", c.Get("levels"))
		if a := s.post("/knowns/plan", v); a.StatusCode != http.StatusUnprocessableEntity || fieldOf(a.body, "levels") != c.Get("levels") || !strings.Contains(a.body, "That cannot be made") {
			t.Errorf("%s: status %d\n%s", what, a.StatusCode, inside(a.body))
		}
	}
}

// TestLateKnowns: what is past its day is named wherever it is used.
func TestLateKnowns(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	s.shelve()
	old := stockForm()
	old.Set("expires", "2020-06-30")
	old.Set("why", "misread")
	s.must("/knowns/shelf/4", old)
	if a := s.post("/knowns/plan", wantedForm("look")); !strings.Contains(a.body, "expired on 2020-06-30") {
		t.Error("the plan does not say that the stock has expired")
	}
	set := s.must("/knowns/plan", wantedForm("keep"))
	v := s.takenForm(set + "/made")
	v.Set("use_by", "2020-07-01")
	s.must(set+"/made", v)
	trial := s.must(set+"/trial", nil)
	plan := s.smallPlan()
	for _, k := range []string{"known_level_0", "known_u_0", "known_blank_0", "known_label_0", "known_level_1", "known_u_1", "known_level_2", "known_u_2"} {
		plan.Del(k)
	}
	plan.Set("set", "2")
	s.must(trial, plan)
	pages := map[string]string{}
	for _, path := range []string{"/", "/knowns", "/knowns/shelf/4", set, trial} {
		pages[path] = s.get(path).body
	}
	plan.Set("do", "seal")
	at := s.must(trial, plan)
	pages["preparation"] = s.post(at+"/preparation", nil).body
	for path, body := range pages {
		if path == "/" { // a day in a sentence is as its reader has days
			body = strings.NewReplacer("30 June 2020", "2020-06-30", "1 July 2020", "2020-07-01").Replace(body)
		}
		if !strings.Contains(body, "2020-06-30") {
			t.Errorf("%s does not name the expired stock", path)
		}
		if path != "/knowns/shelf/4" && !strings.Contains(body, "2020-07-01") {
			t.Errorf("%s does not name the standards past their day", path)
		}
	}
	s.must("/me", form1("person", "1"))
	s.readAll(at)
	s.must(at+"/key", form1("why", "only one reader came"))
	for _, path := range []string{at + "/findings", at + "/report.html"} {
		if body := s.get(path).body; !strings.Contains(body, "had expired on 2020-06-30") {
			t.Errorf("%s does not say that the stock had expired", path)
		}
	}
}

// TestAdditions: the readings of docs/howto-standards.md, estimated and kept.
func TestAdditions(t *testing.T) {
	s := newSite(t, false)
	s.shelve()
	if a := s.get("/knowns/shelf/5"); !strings.Contains(a.body, "A method is needed") {
		t.Error("without a method, no next step is named")
	}
	m := displayForm()
	m.Set("resolution", "0.01")
	s.must("/methods/new", m)
	v := form1("method", "1", "zero", "0,2", "u_zero", "0.02", "additions", "0 0.48\r\n0 0.42\n0 0.45\n1 1.41\n1 1.36\n\n2 2.33\n2 2.38\n4 4.21\n4 lots", "do", "look")
	path := "/knowns/shelf/5/additions"
	if a := s.post(path, v); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "lots") || !strings.Contains(a.body, `class="wrong"`) {
		t.Errorf("a reading that is none: status %d\n%s", a.StatusCode, inside(a.body))
	}
	v.Set("additions", strings.Replace(v.Get("additions"), "lots", "4.29", 1))
	a := s.post(path, v)
	if a.StatusCode != 200 || !strings.Contains(laidOut(a.body), "0.259 ± 0.028 mg/L NO3") || !strings.Contains(a.body, "0.193 to 0.326") {
		t.Errorf("the estimate: status %d\n%s", a.StatusCode, inside(a.body))
	}
	if fieldOf(s.get("/knowns/shelf/5").body, "bg_value_0") != "0.259" {
		t.Error("looking kept something")
	}
	v.Set("do", "keep")
	s.must(path, v)
	if body := s.get("/knowns/shelf/5").body; !strings.HasPrefix(fieldOf(body, "bg_value_0"), "0.25882") || !strings.Contains(body, "standard additions: 9 readings by Pocket display") {
		t.Error("the estimate was not kept")
	}
	v.Set("additions", "0 0.4")
	if a := s.post(path, v); a.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("kept from one reading: status %d", a.StatusCode)
	}
	v.Set("do", "look")
	if a := s.post(path, v); a.StatusCode != 200 || !strings.Contains(a.body, "cannot be told from this reading") {
		t.Errorf("one reading: status %d", a.StatusCode)
	}
	if a := s.post("/knowns/shelf/4/additions", v); a.StatusCode != http.StatusNotFound {
		t.Errorf("additions to a stock: status %d", a.StatusCode)
	}
}

func TestCompareInBrowser(t *testing.T) {
	s := newSite(t, false)
	s.shelve()
	b := stockForm()
	b.Set("name", "bottle B")
	s.must("/knowns/shelf/new", b)
	for _, stock := range []string{"4", "6"} {
		v := wantedForm("keep")
		v.Set("levels", "12")
		v.Set("stocks", stock)
		v.Set("name", "from "+stock)
		s.must("/knowns/plan", v)
	}
	v := form1("standard_first", "1/S1", "mean_first", "12.0", "u_first", "0.02", "standard_second", "2/S1", "mean_second", "12.7", "u_second", "0.02", "permitted", "2")
	if a := s.post("/knowns/compare", v); a.StatusCode != 200 || !strings.Contains(a.body, "Disagree") || !strings.Contains(a.body, "<svg") {
		t.Errorf("5 %% apart: status %d\n%s", a.StatusCode, inside(a.body))
	}
	v.Set("mean_second", "12.0")
	if a := s.post("/knowns/compare", v); !strings.Contains(a.body, "Agree") {
		t.Error("alike, yet no agreement")
	}
	v.Set("standard_second", "")
	if a := s.post("/knowns/compare", v); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.body, "no standard is chosen") {
		t.Errorf("one standard only: status %d", a.StatusCode)
	}
}

// TestScriptInKnowns puts script into every text field of the known water and
// looks for it, unescaped, on every page.
func TestScriptInKnowns(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	x := strings.ReplaceAll(script, ",", "")
	s.must("/knowns/shelf/new", form1("item", "device", "name", "D"+x, "kind", "scale", "nominal", "500", "note", x))
	b := stockForm()
	b.Set("name", "B"+x)
	b.Set("note", x)
	s.must("/knowns/shelf/new", b)
	w := waterForm()
	w.Set("name", "W"+x)
	w.Set("note", x)
	w.Set("bg_how_0", x)
	s.must("/knowns/shelf/new", w)
	b.Set("value", "1002")
	b.Set("why", x)
	s.must("/knowns/shelf/2", b)
	want := wantedForm("keep")
	want.Set("water", "3")
	want.Set("name", "S"+x)
	pages := map[string]string{}
	want.Set("do", "look")
	pages["looked"] = s.post("/knowns/plan", want).body
	want.Set("do", "keep")
	set := s.must("/knowns/plan", want)
	v := s.takenForm(set + "/made")
	for k := range v {
		if strings.HasPrefix(k, "made_by_") {
			v.Set(k, "P"+x)
		}
		if strings.HasPrefix(k, "take_device") || strings.HasPrefix(k, "make_device") {
			v.Set(k, "D"+x)
		}
	}
	v.Set("note", x)
	v.Set("why", x)
	bad := clone(v)
	bad.Set("take_amount_S2", x)
	pages["refused"] = s.post(set+"/made", bad).body
	s.must(set+"/made", v)
	trial := s.must(set+"/trial", nil)
	for _, path := range []string{"/", "/knowns", "/knowns/shelf/1", "/knowns/shelf/2", "/knowns/shelf/3", "/knowns/plan", "/knowns/plan?levels=" + url.QueryEscape(x) + "&name=" + url.QueryEscape(x) + "&unit=" + url.QueryEscape(x),
		"/knowns/shelf/new?kind=" + url.QueryEscape(x), set, set + "/sheet", set + "/made", "/knowns/compare", trial} {
		a := s.get(path)
		if a.StatusCode != 200 {
			t.Errorf("%s: status %d", path, a.StatusCode)
		}
		pages[path] = a.body
	}
	pages["additions"] = s.post("/knowns/shelf/3/additions", form1("method", "1", "zero", x, "additions", x)).body
	for path, page := range pages {
		if strings.Contains(page, "<script>alert") || strings.Contains(page, "<img src=x") {
			t.Errorf("%s: script came through unescaped", path)
		}
	}
	if !strings.Contains(pages[set], "&lt;script&gt;") {
		t.Error("the script is nowhere: the test shows nothing")
	}
}

// TestKnownsRoles: the known water is the owner's; it is the key of trials.
func TestKnownsRoles(t *testing.T) {
	s := newSite(t, true)
	s.signInAsOwner()
	s.furnish()
	s.shelve()
	set := s.must("/knowns/plan", wantedForm("keep"))
	reader, nobody := s.paired(1), s.as()
	for _, path := range []string{"/knowns", "/knowns/plan", "/knowns/shelf/4", "/knowns/shelf/new", set, set + "/sheet", set + "/made", "/knowns/compare"} {
		if a := nobody.get(path); a.StatusCode != http.StatusSeeOther || a.Header.Get("Location") != "/sign-in" {
			t.Errorf("nobody, %s: status %d", path, a.StatusCode)
		}
		if a := reader.get(path); a.StatusCode != http.StatusForbidden {
			t.Errorf("reader, %s: status %d", path, a.StatusCode)
		}
	}
	for _, path := range []string{"/knowns/plan", "/knowns/shelf/4", "/knowns/shelf/4/retire", "/knowns/shelf/4/bottle", "/knowns/shelf/5/additions", set + "/made", set + "/retire", set + "/trial", "/knowns/compare"} {
		if a := reader.post(path, wantedForm("keep")); a.StatusCode != http.StatusForbidden {
			t.Errorf("reader posts %s: status %d", path, a.StatusCode)
		}
		if a := nobody.post(path, wantedForm("keep")); a.StatusCode != http.StatusUnauthorized {
			t.Errorf("nobody posts %s: status %d", path, a.StatusCode)
		}
	}
	if sets, err := s.bench.Sets(context.Background()); err != nil || len(sets) != 1 {
		t.Errorf("%d sets, %v", len(sets), err)
	}
	for _, path := range []string{"/knowns/sets/99", "/knowns/shelf/99", "/knowns/sets/x", set + "?version=99"} {
		if a := s.get(path); a.StatusCode != http.StatusNotFound {
			t.Errorf("%s: status %d", path, a.StatusCode)
		}
	}
}
