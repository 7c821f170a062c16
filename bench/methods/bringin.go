package methods

import (
	"fmt"
	"reflect"
	"strings"

	"knownwater"
	"knownwater/bench/store"
)

// BringIn finds the version of a method that is described like this, for a data
// set on its way in, or makes the method. Where one of that name is described
// otherwise, the new one is kept beside it as a retired one. Nobody sees what was
// made until Settle.
func BringIn(t store.Tx, by knownwater.Who, trial int64, s knownwater.MethodSpec, source string) (knownwater.MethodVersion, error) {
	if fs := Faults(s); len(fs) > 0 {
		return knownwater.MethodVersion{}, fs
	}
	same, err := store.All(t, methodsNamed, kept.Scan, s.Name)
	if err != nil {
		return knownwater.MethodVersion{}, err
	}
	for _, v := range same {
		if v.Spec.Scale == s.Scale && reflect.DeepEqual(v.Spec.Method(), s.Method()) {
			return v, nil
		}
	}
	id, err := kept.Put(t, by, 0, s.Name, s, "from "+source)
	if err != nil {
		return knownwater.MethodVersion{}, err
	}
	if len(same) > 0 {
		if err := kept.Retire(t, id, true); err != nil {
			return knownwater.MethodVersion{}, err
		}
	}
	if err := t.Exec(markMethod, trial, id); err != nil {
		return knownwater.MethodVersion{}, err
	}
	return kept.Latest(t, id)
}

// BringInLot is the lot of a method with a code, likewise.
func BringInLot(t store.Tx, by knownwater.Who, trial, method int64, code string) (int64, error) {
	there, err := store.All(t, lotByCode, scanLot, method, code)
	if err != nil {
		return 0, err
	}
	if len(there) > 0 {
		return there[0].ID, nil
	}
	at, name, device := t.Stamp(by)
	id, err := t.Insert(insertLot, method, code, "", "", "", 0, "", false, at, name, device)
	if err != nil {
		return 0, err
	}
	return id, t.Exec(markLot, trial, id)
}

// BringInNeed puts a need on the list unless one alike is there, likewise; another
// need of the same name gets the title of its trial behind it. 0 for a need that
// would have to be mended first.
func BringInNeed(t store.Tx, by knownwater.Who, trial int64, n knownwater.NeedEntry, title string) (int64, error) {
	if fs := checkNeed(&n); len(fs) > 0 {
		return 0, nil
	}
	there, err := store.All(t, needsWithArriving, scanNeed)
	if err != nil {
		return 0, err
	}
	names := map[string]bool{}
	for _, x := range there {
		names[x.Need.Name] = true
		same := n
		same.Need.Name = x.Need.Name
		if (x.Need.Name == n.Need.Name || strings.HasPrefix(x.Need.Name, n.Need.Name+" (")) && x.Scale == n.Scale && reflect.DeepEqual(x.Need, same.Need) {
			return x.ID, nil
		}
	}
	for name, k := n.Need.Name, 1; names[n.Need.Name]; k++ {
		n.Need.Name = name + " (" + title + ")"
		if k > 1 {
			n.Need.Name = fmt.Sprintf("%s (%s, %d)", name, title, k)
		}
	}
	spec, err := store.ToJSON(needSpec{n.Scale, n.Need})
	if err != nil {
		return 0, err
	}
	at, name, device := t.Stamp(by)
	id, err := t.Insert(insertNeed, n.Need.Name, spec, false, at, name, device)
	if err != nil {
		return 0, err
	}
	return id, t.Exec(markNeed, trial, id)
}

// Settle lets everybody see what a data set brought, once it is in.
func Settle(t store.Tx, by knownwater.Who, trial int64) error {
	rows, err := store.All(t, arrived, func(scan func(...any) error) (row [2]string, err error) {
		err = scan(&row[0], &row[1])
		return row, err
	}, trial)
	for _, row := range rows {
		if err := t.Note(by, 0, row[0], row[1]); err != nil {
			return err
		}
	}
	for _, statement := range []string{settleMethods, settleLots, settleNeeds} {
		if err == nil {
			err = t.Exec(statement, trial)
		}
	}
	return err
}

// Abandon takes one thing away again that a data set brought which did not come in
// whole; false when none is left.
func Abandon(t store.Tx, trial int64) (bool, error) {
	for _, statement := range []string{abandonNeed, abandonLot, abandonVersion, abandonMethod} {
		if n, err := t.Change(statement, trial); err != nil || n > 0 {
			return n > 0, err
		}
	}
	return false, nil
}

// KeptFaults looks into the descriptions that the tables themselves cannot check,
// so that no operation meets a chart without swatches later.
func KeptFaults(t store.Tx) (table string, err error) {
	specs, err := store.All(t, everyVersion, store.ScanJSON[knownwater.MethodSpec])
	if err != nil {
		return "method_version", err
	}
	for _, s := range specs {
		if fs := Faults(s); len(fs) > 0 {
			return "method_version", fs
		}
	}
	needs, err := store.All(t, needsAll, scanNeed)
	if err != nil {
		return "need", err
	}
	for _, n := range needs {
		if fs := checkNeed(&n); len(fs) > 0 {
			return "need", fs
		}
	}
	return "", nil
}
