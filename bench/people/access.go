package people

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"errors"
	"fmt"
	"time"
	"unicode/utf8"

	"github.com/alexedwards/argon2id"

	"knownwater"
	"knownwater/bench/store"
)

// ShortestPassphrase is how many characters a passphrase has at least.
const ShortestPassphrase = 10

// PassphraseSet says whether the bench has a passphrase.
func (b *Operations) PassphraseSet(ctx context.Context) (set bool, err error) {
	err = b.read(ctx, func(t tx) error {
		n, err := store.One(t.Tx, "passphrase", secretHas, store.Value[int])
		set = n > 0
		return err
	})
	return set, err
}

// SetPassphrase sets the owner's passphrase (argon2id, 64 MiB), ends all
// sessions and takes back all pairing codes. At least 10 characters. Owner.
func (b *Operations) SetPassphrase(ctx context.Context, by knownwater.Who, passphrase string) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	if n := utf8.RuneCountInString(passphrase); n < ShortestPassphrase || len(passphrase) > 1000 {
		return knownwater.Faults{knownwater.Fault{Column: "passphrase", Found: "%d characters",
			Want: "at least %d: a few words are easy to remember and hard to guess"}.Of(n, ShortestPassphrase)}
	}
	hash, err := argon2id.CreateHash(passphrase, argon2id.DefaultParams)
	if err != nil {
		return fmt.Errorf("hash the passphrase: %w", err)
	}
	return b.write(ctx, func(t tx) error {
		b.era.Add(1) // who signed in with the old one and is not in yet stays out
		if err := errors.Join(t.Exec(secretPut, hash), t.Exec(endSessions), t.Exec(dropAllPairings)); err != nil {
			return err
		}
		return t.Note(by, 0, "set the passphrase", "")
	})
}

// CheckPassphrase says whether the passphrase is right. from is the caller's
// address, whose wrong tries slow it down.
func (b *Operations) CheckPassphrase(ctx context.Context, passphrase, from string) (right bool, err error) {
	if len(passphrase) > 1000 {
		return false, nil
	}
	hashes, err := b.passphrase(ctx)
	if err != nil || len(hashes) == 0 {
		return false, err
	}
	done, err := b.enter(ctx, from)
	if err != nil {
		return false, err
	}
	leave, err := b.gate.turn(ctx, from)
	if err != nil {
		done(false)
		return false, err
	}
	right, err = argon2id.ComparePasswordAndHash(passphrase, hashes[0])
	leave()
	wrong := err == nil && !right
	done(wrong)
	if wrong {
		err = b.writeDown(ctx, from, "passphrase")
	}
	return right, err
}

func (b *Operations) passphrase(ctx context.Context) (hashes []string, err error) {
	err = b.read(ctx, func(t tx) error {
		hashes, err = store.All(t.Tx, secretGet, store.Value[string])
		return err
	})
	return hashes, err
}

// enter is gate.enter, which remembers over a restart what was tried shortly before.
func (b *Operations) enter(ctx context.Context, from string) (func(wrong bool), error) {
	now := b.store.Clock()
	return b.gate.enter(ctx, from, now, func() (n int) {
		b.read(ctx, func(t tx) error { // nothing known is as good as none
			n, _ = store.One(t.Tx, "count", triesCount, store.Value[int], addressOf(from), store.TimeText(now.Add(-forgiven)))
			return nil
		})
		return n
	})
}

// mostTries is how many wrong tries are kept for the owner to see.
const mostTries = 2000

func (b *Operations) writeDown(ctx context.Context, from, what string) error {
	return b.write(ctx, func(t tx) error {
		return errors.Join(
			t.Exec(triesForget, mostTries),
			t.Exec(triesAdd, addressOf(from), store.TimeText(t.Now), what))
	})
}

// Tries are the wrong tries of one address at one thing.
type Tries struct {
	From, What  string
	N           int
	First, Last time.Time
}

// Tried are the wrong tries that are remembered, the latest first. Owner.
func (b *Operations) Tried(ctx context.Context, by knownwater.Who) (list []Tries, err error) {
	if err := by.MustOwn(); err != nil {
		return nil, err
	}
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, triesList, func(scan func(...any) error) (r Tries, err error) {
			err = scan(&r.From, &r.What, &r.N, store.Time(&r.First), store.Time(&r.Last))
			return r, err
		})
		return err
	})
	return list, err
}

// Pairing is a token that lets one phone in as one person, once.
type Pairing struct {
	Token   string // shown once, as a QR code; only its hash is kept
	Person  knownwater.Person
	Expires time.Time
}

// NewPairing makes a pairing token; life is at most a day, 0 means 10 minutes.
// Owner.
func (b *Operations) NewPairing(ctx context.Context, by knownwater.Who, person int64, life time.Duration) (p Pairing, err error) {
	if err := by.MustOwn(); err != nil {
		return Pairing{}, err
	}
	if life <= 0 {
		life = 10 * time.Minute
	}
	token := make([]byte, 20)
	rand.Read(token) // never fails
	p.Token = base32.StdEncoding.EncodeToString(token)
	err = b.write(ctx, func(t tx) error {
		if p.Person, err = ByID(t.Tx, person); err != nil {
			return err
		}
		if p.Person.Gone {
			return knownwater.Refuse(knownwater.NotAllowed, "%s is marked as gone", p.Person.Name)
		}
		p.Expires = t.Now.Add(min(life, 24*time.Hour))
		if err := t.Exec(pairingForget, store.TimeText(t.Now)); err != nil {
			return err
		}
		if err := t.Exec(pairingAdd, hashOf(p.Token), person, store.TimeText(p.Expires)); err != nil {
			return err
		}
		return t.Note(by, 0, "made a pairing code for "+p.Person.Name, "")
	})
	return p, err
}

// Pair uses a token up and says as whom the phone came in. A right one is never
// kept waiting: it has 160 random bits, which nobody guesses. A wrong, used or late
// token is refused (NotAllowed), after what the wrong tries of its address wait for.
func (b *Operations) Pair(ctx context.Context, token, from string) (p knownwater.Person, err error) {
	p, err = b.useToken(ctx, token, from)
	if !errors.Is(err, &knownwater.Refusal{Kind: knownwater.NotFound}) {
		return p, err
	}
	done, err := b.enter(ctx, from)
	if err != nil {
		return p, err
	}
	done(true)
	if err := b.writeDown(ctx, from, "pairing code"); err != nil {
		return p, err
	}
	return p, knownwater.Refuse(knownwater.NotAllowed, "this pairing code is wrong, used up or too old: ask for a new one")
}

func (b *Operations) useToken(ctx context.Context, token, from string) (p knownwater.Person, err error) {
	known := 0
	err = b.read(ctx, func(t tx) error { // first: a wrong one does not keep writers waiting
		known, err = store.One(t.Tx, "pairing", pairingKnown, store.Value[int], hashOf(token))
		return err
	})
	if err != nil || known == 0 {
		return p, firstOf(err, knownwater.Refuse(knownwater.NotFound, "no such pairing"))
	}
	err = b.write(ctx, func(t tx) error {
		id, err := store.One(t.Tx, "pairing", pairingUse, store.Value[int64], store.TimeText(t.Now), hashOf(token))
		if err != nil {
			return err
		}
		if p, err = ByID(t.Tx, id); err != nil {
			return err
		}
		return t.Note(knownwater.Who{Name: p.Name, Device: from}, 0, "paired a phone as "+p.Name, "")
	})
	return p, err
}

func firstOf(err, other error) error {
	if err != nil {
		return err
	}
	return other
}

// hashOf is how tokens are kept: they are long and random, so that a plain
// SHA-256 tells nothing of them.
func hashOf(token string) string {
	h := sha256.Sum256([]byte(token))
	return hex.EncodeToString(h[:])
}
