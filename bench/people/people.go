package people

import (
	"context"
	"fmt"

	"knownwater"
	"knownwater/bench/store"
)

func checkPerson(p *knownwater.Person) knownwater.Faults {
	var fs knownwater.Faults
	store.Line(&fs, "name", &p.Name, true)
	store.Line(&fs, "alias", &p.Alias, false)
	if p.Role != knownwater.Owner && p.Role != knownwater.Reader {
		fs = append(fs, knownwater.Fault{Column: "role", Found: fmt.Sprintf("%q", p.Role), Want: "owner or reader"})
	}
	return fs
}

// SavePerson adds a person (ID 0) or changes name, role, alias, gone. Changing
// somebody's role or marking them gone ends their sessions and pairings. Owner.
func (b *Operations) SavePerson(ctx context.Context, by knownwater.Who, p knownwater.Person) (saved knownwater.Person, err error) {
	if err := by.MustOwn(); err != nil {
		return knownwater.Person{}, err
	}
	if fs := checkPerson(&p); len(fs) > 0 {
		return knownwater.Person{}, fs
	}
	err = b.write(ctx, func(t tx) error {
		b.era.Add(1) // who is coming in at this moment comes in as they are now
		if n, err := store.One(t.Tx, "person", personSame, store.Value[int], p.Name, p.ID); err != nil {
			return err
		} else if n > 0 {
			return knownwater.Faults{knownwater.Fault{Column: "name", Found: "somebody else is called %q", Want: "a name of its own"}.Of(p.Name)}
		}
		id, err := t.putPerson(by, p)
		if err != nil {
			return err
		}
		saved, err = ByID(t.Tx, id)
		return err
	})
	return saved, err
}

func (t tx) putPerson(by knownwater.Who, p knownwater.Person) (int64, error) {
	if p.ID == 0 {
		at, name, device := t.Stamp(by)
		id, err := t.Insert(insertPerson, p.Name, p.Role, p.Alias, p.Gone, at, name, device)
		if err != nil {
			return 0, err
		}
		return id, t.Note(by, 0, fmt.Sprintf("added %s as %s", p.Name, p.Role), "")
	}
	old, err := ByID(t.Tx, p.ID)
	if err != nil {
		return 0, err
	}
	if err := t.Exec(updatePerson, p.Name, p.Role, p.Alias, p.Gone, p.ID); err != nil {
		return 0, err
	}
	if old.Role != p.Role || p.Gone {
		if err := t.Exec(dropPairings, p.ID); err != nil {
			return 0, err
		}
		if err := t.Exec(dropSessions, p.ID); err != nil {
			return 0, err
		}
	}
	was := fmt.Sprintf("was name %q, role %s, alias %q, gone %t", old.Name, old.Role, old.Alias, old.Gone)
	return p.ID, t.Note(by, 0, "changed "+p.Name, was)
}

// People are all persons, by name; those gone last.
func (b *Operations) People(ctx context.Context) (ps []knownwater.Person, err error) {
	err = b.read(ctx, func(t tx) error {
		ps, err = store.All(t.Tx, peopleAll, scanPerson)
		return err
	})
	return ps, err
}

// Person is one person.
func (b *Operations) Person(ctx context.Context, id int64) (p knownwater.Person, err error) {
	err = b.read(ctx, func(t tx) error {
		p, err = ByID(t.Tx, id)
		return err
	})
	return p, err
}
