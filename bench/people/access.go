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

// Wrong tries that are let through in TryWindow.
const (
	TriesFromOne = 5
	TriesFromAll = 30
	TryWindow    = 15 * time.Minute
)

// PassphraseSet says whether the bench has a passphrase.
func (b *Operations) PassphraseSet(ctx context.Context) (set bool, err error) {
	err = b.read(ctx, func(t tx) error {
		n, err := store.One(t.Tx, "passphrase", secretHas, store.Value[int])
		set = n > 0
		return err
	})
	return set, err
}

// SetPassphrase sets the owner's passphrase (argon2id, 64 MiB) and ends all
// sessions. At least 10 characters. Owner.
func (b *Operations) SetPassphrase(ctx context.Context, by knownwater.Who, passphrase string) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	if n := utf8.RuneCountInString(passphrase); n < ShortestPassphrase || len(passphrase) > 1000 {
		return knownwater.Faults{{Column: "passphrase", Found: fmt.Sprintf("%d characters", n),
			Want: fmt.Sprintf("at least %d: a few words are easy to remember and hard to guess", ShortestPassphrase)}}
	}
	hash, err := argon2id.CreateHash(passphrase, argon2id.DefaultParams)
	if err != nil {
		return fmt.Errorf("hash the passphrase: %w", err)
	}
	return b.write(ctx, func(t tx) error {
		if err := errors.Join(t.Exec(secretPut, hash), t.Exec(endSessions)); err != nil {
			return err
		}
		return t.Note(by, 0, "set the passphrase", "")
	})
}

// CheckPassphrase says whether the passphrase is right. from is the caller's
// address: after 5 wrong tries in 15 minutes from one address, or 30 from all,
// it refuses (TooMany) without looking. One check runs at a time, others wait,
// since each takes 64 MiB.
func (b *Operations) CheckPassphrase(ctx context.Context, passphrase, from string) (bool, error) {
	if len(passphrase) > 1000 {
		return false, nil
	}
	right := false
	err := b.tried(ctx, from, func() (err error) {
		var hash string
		err = b.read(ctx, func(t tx) error {
			hash, err = store.One(t.Tx, "passphrase", secretGet, store.Value[string])
			return err
		})
		if err == nil {
			right, err = argon2id.ComparePasswordAndHash(passphrase, hash)
		}
		if err == nil && !right {
			err = errWrong
		}
		return err
	})
	if errors.Is(err, errWrong) || errors.Is(err, &knownwater.Refusal{Kind: knownwater.NotFound}) {
		return false, nil
	}
	return right, err
}

var errWrong = errors.New("wrong")

// tried runs one try at a time, refuses it where there were too many, and counts
// it where it ends in errWrong.
func (b *Operations) tried(ctx context.Context, from string, try func() error) error {
	select {
	case b.limits.oneTry <- struct{}{}:
		defer func() { <-b.limits.oneTry }()
	case <-ctx.Done():
		return ctx.Err()
	}
	if err := b.tooMany(ctx, from); err != nil {
		return err
	}
	err := try()
	if !errors.Is(err, errWrong) {
		return err
	}
	return errors.Join(err, b.write(ctx, func(t tx) error {
		return errors.Join(
			t.Exec(triesForget, store.TimeText(t.Now.Add(-TryWindow))),
			t.Exec(triesAdd, from, store.TimeText(t.Now)))
	}))
}

func (b *Operations) tooMany(ctx context.Context, from string) error {
	return b.read(ctx, func(t tx) error {
		n, err := store.One(t.Tx, "count", triesCount, func(scan func(...any) error) (n [2]int, err error) {
			err = scan(&n[0], &n[1])
			return n, err
		}, from, store.TimeText(t.Now.Add(-TryWindow)))
		if err == nil && (n[0] >= TriesFromOne || n[1] >= TriesFromAll) {
			return knownwater.Refuse(knownwater.TooMany, "too many wrong tries: wait %d minutes", int(TryWindow.Minutes()))
		}
		return err
	})
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

// Pair uses a token up and says as whom the phone came in. A wrong, used or
// late token is refused (NotAllowed) and counts as a wrong try of from, as in
// CheckPassphrase.
func (b *Operations) Pair(ctx context.Context, token, from string) (p knownwater.Person, err error) {
	err = b.tried(ctx, from, func() error {
		return b.write(ctx, func(t tx) error {
			id, err := store.One(t.Tx, "pairing", pairingUse, store.Value[int64], store.TimeText(t.Now), hashOf(token))
			if errors.Is(err, &knownwater.Refusal{Kind: knownwater.NotFound}) {
				return errWrong
			}
			if err != nil {
				return err
			}
			if p, err = ByID(t.Tx, id); err != nil {
				return err
			}
			return t.Note(knownwater.Who{Name: p.Name, Device: from}, 0, "paired a phone as "+p.Name, "")
		})
	})
	if errors.Is(err, errWrong) {
		return knownwater.Person{}, knownwater.Refuse(knownwater.NotAllowed, "this pairing code is wrong, used up or too old: ask for a new one")
	}
	return p, err
}

// hashOf is how tokens are kept: they are long and random, so that a plain
// SHA-256 tells nothing of them.
func hashOf(token string) string {
	h := sha256.Sum256([]byte(token))
	return hex.EncodeToString(h[:])
}
