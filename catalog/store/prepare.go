package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"time"

	"github.com/gofrs/flock"
	"github.com/pressly/goose/v3"
	"gorm.io/gorm"
)

// prepare returns with the lock shared and the file ready to be used. While it is
// not, the process that gets the lock alone makes it so and the others wait: they
// look again after it, since it goes on to share the lock for as long as it runs.
func (c Config) prepare(ctx context.Context, lock *flock.Flock, path string) error {
	for give := time.Now().Add(c.Wait); ; {
		if err := together(ctx, lock, time.Until(give)); err != nil {
			return err
		}
		if ready, err := c.ready(ctx, path); ready || err != nil {
			return err
		}
		if err := lock.Unlock(); err != nil {
			return err
		}
		switch got, err := lock.TryLock(); {
		case err != nil:
			return err
		case got:
			err := c.makeReady(ctx, path)
			if err := errors.Join(err, lock.Unlock()); err != nil {
				return err
			}
			give = time.Now().Add(c.Wait) // it was work, not waiting
		case time.Now().After(give):
			return ErrInUse
		default:
			time.Sleep(pause)
		}
	}
}

// ready reports whether the file is there, of the program's schema, filled, and
// open to readers beside a writer. What was cut short in the middle of a write
// cannot be put right by reading, so it is not ready either.
func (c Config) ready(ctx context.Context, path string) (ready bool, err error) {
	if there, err := exists(path); !there || err != nil {
		return false, err
	}
	db, err := open(reader(path), 1)
	if errors.Is(kindOf(err), ErrReadOnly) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	defer func() { err = errors.Join(err, shut(db)) }()
	is, want, err := c.schema(ctx, db)
	if err != nil || is != want {
		return false, err
	}
	var mode string
	err = db.WithContext(ctx).Raw("PRAGMA journal_mode").Row().Scan(&mode)
	if err != nil || mode != "wal" {
		return false, err
	}
	s := Store{read: db, now: c.Now}
	err = s.Read(ctx, func(tx Tx) (err error) {
		ready, err = c.Filled(tx)
		return err
	})
	return ready, err
}

// schema returns the version of the file's schema, 0 for an empty file, and that
// of the program. A file that is newer, or of another program, is refused.
func (c Config) schema(ctx context.Context, db *gorm.DB) (is, want int64, err error) {
	if want, err = c.newest(); err != nil {
		return 0, 0, err
	}
	var tables []string
	if err := db.WithContext(ctx).Raw("SELECT name FROM sqlite_master WHERE type = 'table'").Scan(&tables).Error; err != nil {
		return 0, want, err
	}
	if len(tables) == 0 {
		return 0, want, nil
	}
	if !slices.Contains(tables, goose.DefaultTablename) {
		return 0, want, fmt.Errorf("%w: it is one of another program", ErrDamaged)
	}
	err = db.WithContext(ctx).Raw("SELECT coalesce(max(version_id), 0) FROM " + goose.DefaultTablename + " WHERE is_applied").Scan(&is).Error
	if is > want {
		err = fmt.Errorf("%w: its schema is %d, the program's %d", ErrNewer, is, want)
	}
	return is, want, err
}

// newest returns the version of the program's schema.
func (c Config) newest() (v int64, err error) {
	names, err := fs.Glob(c.migrations, "*.sql")
	for _, name := range names {
		n, err := goose.NumericComponent(name)
		if err != nil {
			return 0, err
		}
		v = max(v, n)
	}
	return v, err
}

// makeReady makes the file what ready asks for; its lock is held alone. A file with
// an older schema is migrated as a copy that then takes its place, so that a
// migration that fails or is cut short leaves the file as it was.
func (c Config) makeReady(ctx context.Context, path string) error {
	if err := touch(path); err != nil {
		return err
	}
	is, want, err := c.versions(ctx, path)
	if err != nil {
		return err
	}
	if is == 0 || is == want {
		return c.build(ctx, path)
	}
	return replace(ctx, path, path, func(copied string) error {
		if err := c.build(ctx, copied); err != nil {
			return err
		}
		if err := settle(copied); err != nil {
			return err
		}
		_, err := keep(ctx, path, fmt.Sprintf("%s.before-%d", path, want))
		return err
	})
}

// versions is schema of the file at path, which it opens as a writer does: what was
// cut short is put right.
func (c Config) versions(ctx context.Context, path string) (is, want int64, err error) {
	g, err := open(writer(path), 1)
	if err != nil {
		return 0, 0, err
	}
	is, want, err = c.schema(ctx, g)
	return is, want, errors.Join(err, shut(g))
}

// build migrates and fills the file at path.
func (c Config) build(ctx context.Context, path string) (err error) {
	g, err := open(writer(path), 1)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, shut(g)) }()
	db, err := g.DB()
	if err != nil {
		return err
	}
	if err := c.migrate(ctx, db); err != nil {
		return err
	}
	s := Store{write: g, now: c.Now}
	return s.Write(ctx, func(tx Tx) error {
		if filled, err := c.Filled(tx); filled || err != nil {
			return err
		}
		return c.Fill(tx)
	})
}

// migrate brings the schema to the program's, each step in its own transaction.
func (c Config) migrate(ctx context.Context, db *sql.DB) error {
	p, err := goose.NewProvider(goose.DialectSQLite3, db, c.migrations, goose.WithDisableGlobalRegistry(true), goose.WithAllowOutofOrder(false))
	if err != nil {
		return err
	}
	_, err = p.Up(ctx) // p.Close would close db
	return err
}
