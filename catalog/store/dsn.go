package store

import (
	"database/sql"
	"fmt"
	"maps"
	"net/url"
	"path/filepath"
	"slices"
)

// A dsn is how a connection to a file is opened, and what its pragmas must then
// say: a key that the driver does not know would be passed over in silence.
type dsn struct {
	path    string
	options url.Values
	pragmas map[string]string
}

// writer returns the way in for the one connection that writes. Every commit
// reaches the disk before it returns (synchronous FULL): what was sent is evidence.
func writer(path string) dsn {
	return dsn{path, url.Values{
		"mode": {"rw"}, "_journal_mode": {"WAL"}, "_synchronous": {"FULL"}, "_foreign_keys": {"1"},
		"_busy_timeout": {"5000"}, "_txlock": {"immediate"}, "_stmt_cache_size": {"64"},
	}, map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "busy_timeout": "5000"}}
}

// reader returns the way in for connections that only read.
func reader(path string) dsn {
	return dsn{path, url.Values{
		"mode": {"ro"}, "_query_only": {"1"}, "_txlock": {"deferred"}, "_busy_timeout": {"5000"}, "_stmt_cache_size": {"64"},
	}, map[string]string{"query_only": "1", "busy_timeout": "5000"}}
}

// copier returns the way in for a copy, which query_only would not let be made.
func copier(path string) dsn {
	return dsn{path, url.Values{"mode": {"ro"}, "_busy_timeout": {"5000"}}, map[string]string{"busy_timeout": "5000"}}
}

// String returns the data source name; the path is escaped as a URI has it.
func (d dsn) String() string {
	return "file:" + (&url.URL{Path: filepath.ToSlash(d.path)}).EscapedPath() + "?" + d.options.Encode()
}

// readBack refuses a connection that is not set as it was asked to be.
func (d dsn) readBack(db *sql.DB) error {
	for _, name := range slices.Sorted(maps.Keys(d.pragmas)) {
		var is string
		if err := db.QueryRow("PRAGMA " + name).Scan(&is); err != nil {
			return err
		}
		if is != d.pragmas[name] {
			return fmt.Errorf("the database runs with %s = %s, not %s", name, is, d.pragmas[name])
		}
	}
	return nil
}
