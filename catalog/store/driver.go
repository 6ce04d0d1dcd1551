//go:build cgo

package store

import (
	"errors"

	"github.com/mattn/go-sqlite3"
)

// hasDriver says that the program was built with SQLite, which is C.
const hasDriver = true

// codeOf returns the result code of SQLite that caused err, extended for a
// constraint, or 0.
func codeOf(err error) int {
	e := sqlite3.Error{}
	if !errors.As(err, &e) {
		return 0
	}
	if e.Code == sqlite3.ErrConstraint {
		return int(e.ExtendedCode)
	}
	return int(e.Code)
}
