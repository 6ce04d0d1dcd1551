package quotes

import (
	"fmt"
	"time"

	"reckoner/catalog/store"
)

// Once says that a request is to be done once, however often it is sent: by the
// Idempotency-Key that it bears. The zero Once is no such request.
type Once struct {
	Path, Key string
	Digest    string // of the body
}

// keysLast is how long a key is remembered.
const keysLast = 30 * 24 * time.Hour

// A Reused says that a key came with another If-Match or body before.
type Reused struct{ Key string }

// Error says which.
func (r *Reused) Error() string {
	return fmt.Sprintf("the Idempotency-Key %q came with another If-Match or body before: send a new key with a new request", r.Key)
}

// answer returns what was answered under the key before, if it is remembered. The
// error may be a *Reused.
func (o Once) answer(tx store.Tx) (a Answer, answered bool, err error) {
	if o.Key == "" {
		return a, false, nil
	}
	var rows []keyRow
	if err := tx.Where("path = ? AND key = ? AND created_at >= ?", o.Path, o.Key, remembered(tx)).Find(&rows).Error; err != nil || len(rows) == 0 {
		return a, false, err
	}
	if rows[0].Digest != o.Digest {
		return a, false, &Reused{o.Key}
	}
	return Answer{rows[0].Number, rows[0].Etag, []byte(rows[0].Answer)}, true, nil
}

// remembered returns the moment since which keys are remembered.
func remembered(tx store.Tx) store.Instant { return store.InstantOf(tx.Now.Time().Add(-keysLast)) }

// do does f, unless it was done under the same key: then what was answered then is
// the answer. What f failed to do may be tried again.
func (o Once) do(tx store.Tx, f func() (Answer, error)) (a Answer, err error) {
	a, answered, err := o.answer(tx)
	if answered || err != nil {
		return a, err
	}
	if a, err = f(); err != nil || o.Key == "" {
		return a, err
	}
	if err := tx.Where("created_at < ?", remembered(tx)).Delete(&keyRow{}).Error; err != nil {
		return a, err
	}
	return a, tx.Create(&keyRow{o.Path, o.Key, o.Digest, a.Number, a.Tag, string(a.Text), tx.Now}).Error
}

// OnceOf returns the Once of a request; an empty key makes it none.
func OnceOf(path, key string, body []byte) Once { return Once{path, key, digestOf(body)} }
