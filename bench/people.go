package bench

import (
	"context"
	"time"
)

// Person is somebody who works at the bench.
type Person struct {
	ID    int64
	Name  string
	Role  Role
	Alias string // what stands for the name in what is published without names; "Reader 1" … if empty
	Gone  bool   // no longer here: off the lists for new plans, cannot pair
	Made  Stamp
}

// SavePerson adds a person (ID 0) or changes name, role, alias, gone. Taking
// somebody's role or marking them gone ends their sessions and pairings. Owner.
func (b *Bench) SavePerson(ctx context.Context, by Who, p Person) (Person, error) {
	return Person{}, errNotYet
}

// People are all persons, by name; those gone last.
func (b *Bench) People(ctx context.Context) ([]Person, error) { return nil, errNotYet }

// Person is one person.
func (b *Bench) Person(ctx context.Context, id int64) (Person, error) { return Person{}, errNotYet }

// PassphraseSet says whether the bench has a passphrase.
func (b *Bench) PassphraseSet(ctx context.Context) (bool, error) { return false, errNotYet }

// SetPassphrase sets the owner's passphrase (argon2id) and ends all sessions.
// At least 10 characters. Owner.
func (b *Bench) SetPassphrase(ctx context.Context, by Who, passphrase string) error {
	return errNotYet
}

// CheckPassphrase says whether the passphrase is right. from is the caller's
// address: after 5 wrong tries in 15 minutes from one address, or 30 from all,
// it refuses (TooMany) without looking. Two checks run at a time, others wait.
func (b *Bench) CheckPassphrase(ctx context.Context, passphrase, from string) (bool, error) {
	return false, errNotYet
}

// Pairing is a token that lets one phone in as one person, once.
type Pairing struct {
	Token   string // shown once, as a QR code; only its hash is kept
	Person  Person
	Expires time.Time
}

// NewPairing makes a pairing token; life is at most a day, 0 means 10 minutes.
// Owner.
func (b *Bench) NewPairing(ctx context.Context, by Who, person int64, life time.Duration) (Pairing, error) {
	return Pairing{}, errNotYet
}

// Pair uses a token up and says as whom the phone came in. A wrong, used or
// late token is refused (NotAllowed) and counts as a wrong try of from, as in
// CheckPassphrase.
func (b *Bench) Pair(ctx context.Context, token, from string) (Person, error) {
	return Person{}, errNotYet
}

// Sessions is a store with the three methods that scs wants. Tokens are kept as
// hashes. It outlives a restart of the server.
func (b *Bench) Sessions() *Sessions { return nil }

// Sessions keeps login sessions in the bench's file.
type Sessions struct{ b *Bench }

// Find returns the data of a session that has not ended.
func (s *Sessions) Find(token string) (data []byte, found bool, err error) {
	return nil, false, errNotYet
}

// Commit keeps a session's data until expiry.
func (s *Sessions) Commit(token string, data []byte, expiry time.Time) error { return errNotYet }

// Delete ends a session.
func (s *Sessions) Delete(token string) error { return errNotYet }

// Tie notes whose session it is and on what device, so that it can be listed
// and ended. Call it after login or pairing, with scs's Token.
func (s *Sessions) Tie(ctx context.Context, token string, w Who) error { return errNotYet }

// SessionEntry is one login, for the owner's list.
type SessionEntry struct {
	ID      string // not the token
	Person  int64
	Name    string
	Role    Role
	Device  string
	Since   time.Time
	Expires time.Time
}

// List are the sessions that have not ended. Owner.
func (s *Sessions) List(ctx context.Context, by Who) ([]SessionEntry, error) { return nil, errNotYet }

// End ends one session from the list. Owner.
func (s *Sessions) End(ctx context.Context, by Who, id string) error { return errNotYet }

// Allow counts one try of what from an address and says whether it is still
// within limit tries in the last per; if not, when the next one may come.
// For any rate limit that the pages want; kept in memory.
func (b *Bench) Allow(what, from string, limit int, per time.Duration) (ok bool, wait time.Duration) {
	return true, 0
}
