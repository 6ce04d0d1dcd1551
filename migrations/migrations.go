// Package migrations holds the schema of the store, one numbered file of plain
// SQL a change, never edited once it has been released. It holds no Go code that
// runs them.
package migrations

import "embed"

//go:embed sqlite/*.sql
var files embed.FS

// SQLite returns the migrations for SQLite, in the directory sqlite.
func SQLite() embed.FS { return files }
