package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"

	"gorm.io/driver/sqlite"
)

// replace puts a copy of the file at from in the place of the file at to, all at
// once and when it is whole, checked and on the disk. Just before that, last is
// given the copy and may change it, or refuse.
func replace(ctx context.Context, from, to string, last func(copied string) error) (err error) {
	dir, err := os.MkdirTemp(filepath.Dir(to), ".reckoner-*")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	name := filepath.Join(dir, "copy")
	if err := vacuumInto(ctx, from, name); err != nil {
		return err
	}
	if err := last(name); err != nil {
		return err
	}
	if err := flush(name, os.O_RDWR); err != nil { // Windows flushes nothing that is opened to be read alone
		return err
	}
	if err := os.Rename(name, to); err != nil {
		return err
	}
	if runtime.GOOS == "windows" { // it flushes no folder either
		return nil
	}
	return flush(filepath.Dir(to), os.O_RDONLY)
}

// vacuumInto writes a copy to a new file and looks it through.
func vacuumInto(ctx context.Context, from, to string) error {
	if err := touch(to); err != nil {
		return err
	}
	db, err := sql.Open(sqlite.DriverName, copier(from).String())
	if err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, "VACUUM INTO ?", to)
	if err := errors.Join(err, db.Close()); err != nil {
		return fmt.Errorf("copying %s: %w", from, err)
	}
	whole := copier(to)
	whole.options.Set("mode", "rw") // else the CHECKs would not be looked at
	made, err := sql.Open(sqlite.DriverName, whole.String())
	if err != nil {
		return err
	}
	var found string
	err = made.QueryRowContext(ctx, "PRAGMA integrity_check(1)").Scan(&found)
	if err == nil && found != "ok" {
		err = fmt.Errorf("%w: %s", ErrDamaged, found)
	}
	return errors.Join(err, made.Close())
}

// settle brings what is in the -wal of the file at path into it.
func settle(path string) error {
	g, err := open(writer(path), 1)
	if err != nil {
		return err
	}
	var busy, pages, moved int
	err = g.Raw("PRAGMA wal_checkpoint(TRUNCATE)").Row().Scan(&busy, &pages, &moved)
	if err == nil && busy != 0 {
		err = ErrInUse
	}
	return errors.Join(err, shut(g))
}

// touch makes the file if it is not there, for its owner alone: the database would
// let others read what it makes.
func touch(name string) error {
	f, err := os.OpenFile(name, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return err
	}
	return f.Close()
}

// flush waits until a file or a folder is on the disk.
func flush(name string, opened int) error {
	f, err := os.OpenFile(name, opened, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
