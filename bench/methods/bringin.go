package methods

import (
	"fmt"
	"reflect"
	"strings"

	"knownwater"
	"knownwater/bench/store"
)

// BringIn finds the version of a method that is described like this, or makes the
// method. Where one of that name is described otherwise, the new one is kept
// beside it as a retired one.
func BringIn(t store.Tx, by knownwater.Who, s knownwater.MethodSpec, source string) (knownwater.MethodVersion, error) {
	if fs := Check(s); len(fs) > 0 {
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
	v, err := tx{t}.put(by, 0, s, "from "+source)
	if err == nil && len(same) > 0 {
		err = kept.Retire(t, v.ID, true)
	}
	return v, err
}

// BringInLot is the lot of a method with a code, which is added where there is none.
func BringInLot(t store.Tx, by knownwater.Who, method int64, code string) (int64, error) {
	there, err := store.All(t, lotByCode, scanLot, method, code)
	if err != nil {
		return 0, err
	}
	if len(there) > 0 {
		return there[0].ID, nil
	}
	return tx{t}.putLot(by, knownwater.Lot{MethodID: method, Code: code})
}

// BringInNeed puts a need on the list unless one alike is there; another need of
// the same name gets the title of its trial behind it. 0 for a need that would
// have to be mended first.
func BringInNeed(t store.Tx, by knownwater.Who, n knownwater.NeedEntry, title string) (int64, error) {
	if fs := checkNeed(&n); len(fs) > 0 {
		return 0, nil
	}
	there, err := store.All(t, needsAll, scanNeed)
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
	return tx{t}.putNeed(by, n, spec)
}

// KeptFaults looks into the descriptions that the tables themselves cannot check,
// so that no operation meets a chart without swatches later.
func KeptFaults(t store.Tx) (table string, err error) {
	specs, err := store.All(t, everyVersion, store.ScanJSON[knownwater.MethodSpec])
	if err != nil {
		return "method_version", err
	}
	for _, s := range specs {
		if fs := Check(s); len(fs) > 0 {
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
