package store

import (
	"errors"
	"fmt"
	"io/fs"
)

// What can be wrong with a file, or with what a transaction asks of it. An error
// of this package wraps at most one of them; the words of the database, which
// follow, are for the log.
var (
	ErrNewer    = errors.New("the database is of a newer program")                 // Open, Restore
	ErrInUse    = errors.New("the database is in use by another process")          // Open, Restore
	ErrDamaged  = errors.New("the database is damaged, or is no database")         // any call
	ErrNoDriver = errors.New("the program was built without a C compiler, cgo")    // Open, Backup, Restore
	ErrBusy     = errors.New("another process held the database for too long")     // Read, Write
	ErrFull     = errors.New("the disk is full")                                   // Write, Backup, Restore
	ErrExists   = errors.New("there is such a row already")                        // Write
	ErrRefused  = errors.New("the database refused what a row says or refers to")  // Write
	ErrReadOnly = errors.New("the database cannot be written: look at its rights") // Open, Write
)

// kindOf returns err with its kind before it, if the database is its cause.
func kindOf(err error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, fs.ErrPermission) && !errors.Is(err, ErrReadOnly) {
		return fmt.Errorf("%w: %w", ErrReadOnly, err)
	}
	if kind := kinds[codeOf(err)]; kind != nil && !errors.Is(err, kind) {
		return fmt.Errorf("%w: %w", kind, err)
	}
	return err
}

// kinds are the result codes of SQLite that have a kind here: its primary codes,
// but for a constraint (19), which has one of its extended codes.
var kinds = map[int]error{
	5: ErrBusy, 6: ErrBusy, 8: ErrReadOnly, 11: ErrDamaged, 13: ErrFull, 26: ErrDamaged,
	1555: ErrExists, 2067: ErrExists, // primary key, unique
	275: ErrRefused, 787: ErrRefused, 1299: ErrRefused, 1811: ErrRefused, 3091: ErrRefused, // check, foreign key, not null, trigger, datatype
}
