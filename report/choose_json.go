package report

import (
	"math"

	"knownwater/science/choose"
	"knownwater/science/note"
	"knownwater/science/num"
)

// chooseJSON is a choice as docs/formats.md fixes it.
type chooseJSON struct {
	Needs     []chosenJSON     `json:"needs"`
	Next      []experimentJSON `json:"next"`
	Notes     []string         `json:"notes"`
	NoteCodes []note.Note      `json:"note_codes"`
}

type chosenJSON struct {
	Need        string       `json:"need"`
	Use         *string      `json:"use"`
	UseWay      *string      `json:"use_way"`
	Because     string       `json:"because"`
	TestsAMonth num.Number   `json:"tests_a_month"`
	Ways        []wayJSON    `json:"ways"`
	Changes     []changeJSON `json:"order_changes_at"`
	Permitted   []loosenJSON `json:"order_changes_with_permitted"`
	Pair        *pairJSON    `json:"pair"`
	Beside      []string     `json:"beside"`
}

type wayJSON struct {
	Report    string      `json:"report,omitempty"`
	Method    string      `json:"method"`
	Matrix    string      `json:"matrix,omitempty"`
	Way       string      `json:"way"`
	Tried     bool        `json:"tried"`
	LeftOut   bool        `json:"by_left_out,omitempty"`
	Verdict   string      `json:"verdict"`
	Within    *bool       `json:"within_limits"`
	Beyond    []string    `json:"beyond_limits"`
	Tests     int         `json:"tests"`
	Readers   int         `json:"readers"`
	Dilution  num.Number  `json:"dilution"` // null: by the sheet's switch
	Corrected bool        `json:"corrected"`
	Curve     *string     `json:"curve"`  // null: by none
	Supply    *string     `json:"supply"` // null: bought in one way only
	Money     num.Number  `json:"money_a_year"`
	Refill    bool        `json:"by_refill"`
	Spoils    bool        `json:"spoils"`
	Minutes   num.Number  `json:"minutes"`
	Least     num.Number  `json:"minutes_least"`
	Again     float64     `json:"diluted_share"`
	HandsOn   num.Number  `json:"hands_on_minutes"`
	Waste     num.Number  `json:"waste_ml_a_year"`
	LossMoney num.Number  `json:"loss_a_year"`
	Error95   num.Number  `json:"error_95"`
	Low       num.Number  `json:"low"`
	High      num.Number  `json:"high"`
	WorstAt   num.Number  `json:"worst_at"`
	Permitted num.Number  `json:"permitted"`
	Shows     spannedJSON `json:"shows_from"`    // of single results: the least that shows, with its 95 % limits
	Step      spannedJSON `json:"smallest_step"` // … the smallest rise from the need's lower end
	Why       []string    `json:"missing"`       // what of the two is null, and why
}

// spannedJSON is a number with its 95 % limits.
type spannedJSON struct {
	Is   num.Number `json:"is"`
	Low  num.Number `json:"low"`
	High num.Number `json:"high"`
}

func spannedOf(s choose.Spanned) spannedJSON { return spannedJSON(s) }

type changeJSON struct {
	TestsAMonth float64    `json:"tests_a_month"`
	From        *string    `json:"below"`
	FromWay     *string    `json:"below_way"`
	To          *string    `json:"above"`
	ToWay       *string    `json:"above_way"`
	Money       num.Number `json:"money_a_year"`
}

type loosenJSON struct {
	Times   float64 `json:"times_permitted"`
	From    *string `json:"below"`
	FromWay *string `json:"below_way"`
	To      *string `json:"above"`
	ToWay   *string `json:"above_way"`
}

type pairJSON struct {
	Everyday    string     `json:"everyday"`
	EverydayWay string     `json:"everyday_way"`
	Confirm     string     `json:"confirm"`
	ConfirmWay  string     `json:"confirm_way"`
	From        num.Number `json:"stands_from"`
	To          num.Number `json:"stands_to"`
	Share       num.Number `json:"confirmed_share"`
	Money       num.Number `json:"money_a_year"`
	Alone       num.Number `json:"money_a_year_alone"`
}

type experimentJSON struct {
	Report   string      `json:"report,omitempty"`
	Need     string      `json:"need"`
	Vials    []vialsJSON `json:"vials"`
	PSettles num.Number  `json:"p_settles"`
	Even     num.Number  `json:"p_settles_even"`
	Minutes  num.Number  `json:"minutes"`
	Money    num.Number  `json:"money"`
	Changes  bool        `json:"changes_use"`
	Command  string      `json:"command"`
}

type vialsJSON struct {
	Method   string  `json:"method"`
	Matrix   string  `json:"matrix,omitempty"`
	Dilution float64 `json:"dilution"`
	Level    float64 `json:"level"`
	Readings int     `json:"readings"`
}

// ChooseJSON is a choice for programs.
func ChooseJSON(c choose.Choice, next []choose.Experiment) any {
	j := chooseJSON{Needs: []chosenJSON{}, Next: []experimentJSON{}, Notes: SayAll(c.Notes), NoteCodes: c.Notes}
	for _, n := range c.Needs {
		j.Needs = append(j.Needs, chosenOf(n))
	}
	for _, x := range next {
		j.Next = append(j.Next, experimentOf(x))
	}
	return j
}

func chosenOf(n choose.NeedChoice) chosenJSON {
	name := func(i int) (method, way *string) {
		if i < 0 {
			return nil, nil
		}
		m, w := n.Ways[i].Method, WayWords(nil, n.Ways[i].Use)
		return &m, &w
	}
	out := chosenJSON{Need: n.Need.Name, Because: Words(n.Because), TestsAMonth: num.Number(n.Need.TestsAMonth), Ways: []wayJSON{}, Changes: []changeJSON{}, Permitted: []loosenJSON{}, Beside: SayAll(n.Beside)}
	if n.Need.TestsAMonth == 0 {
		out.TestsAMonth = num.None
	}
	out.Use, out.UseWay = name(n.Use)
	for _, w := range n.Ways {
		out.Ways = append(out.Ways, wayOf(w))
	}
	for _, c := range n.Changes {
		x := changeJSON{TestsAMonth: c.AnswersAMonth, Money: num.Number(c.Money)}
		x.From, x.FromWay = name(c.From)
		x.To, x.ToWay = name(c.To)
		out.Changes = append(out.Changes, x)
	}
	for _, l := range n.Loosen {
		x := loosenJSON{Times: l.Times}
		x.From, x.FromWay = name(l.From)
		x.To, x.ToWay = name(l.To)
		out.Permitted = append(out.Permitted, x)
	}
	if p := n.Pair; p != nil {
		day, confirm := n.Ways[p.Everyday].Use, n.Ways[p.Confirm].Use
		out.Pair = &pairJSON{day.Method, WayWords(nil, day), confirm.Method, WayWords(nil, confirm),
			num.Number(p.From), num.Number(p.To), num.Number(p.Share), num.Number(p.Money), num.Number(p.Alone)}
	}
	return out
}

func wayOf(w choose.Way) wayJSON {
	dilution := num.Number(w.Dilution)
	if w.Switches && w.Dilution == 0 {
		dilution = num.Number(math.NaN())
	}
	return wayJSON{w.Report, w.Method, w.Matrix, WayWords(nil, w.Use), w.Tried, w.LeftOut, w.Verdict, w.Within, WordsAll(w.Beyond), w.Tests, w.Readers, dilution, w.Corrected, orNull(w.Curve), orNull(w.Supply),
		w.Cost.Money, w.Cost.Refill, w.Cost.Spoils, w.Cost.Minutes, w.Cost.Least, w.Cost.Again, w.Cost.HandsOn, w.Cost.WasteML, w.Loss.Money,
		w.Error.Error95, w.Error.Low, w.Error.High, w.Error.WorstAt, w.Error.Permitted, spannedOf(w.Shows), spannedOf(w.Step), WordsAll(w.Why)}
}

func experimentOf(x choose.Experiment) experimentJSON {
	out := experimentJSON{Report: x.Report, Need: x.Need, Vials: []vialsJSON{}, PSettles: num.Number(x.PSettles), Even: num.Number(x.Even), Minutes: x.Minutes, Money: x.Money, Changes: x.Changes, Command: ForecastCommand(x)}
	for _, v := range x.Vials {
		out.Vials = append(out.Vials, vialsJSON{v.Method, x.Matrix, v.Dilution, v.Level, v.Readings})
	}
	return out
}
