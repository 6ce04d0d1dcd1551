// Package store keeps the tables of the program in one SQLite file. It is the only
// place that sets up GORM and the migrations, and the only one that knows SQLite;
// what the tables mean is for the packages that use it.
//
// A file is written through one connection and read through others. Beside it
// lies a lock, NAME.lock: shared by every process that has the file open, held
// alone while the file is migrated, filled or replaced.
package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/gofrs/flock"
	"gorm.io/driver/sqlite"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"

	"reckoner/migrations"
)

// A Store is an open file, for use by many requests at once.
type Store struct {
	write, read *gorm.DB
	lock        *flock.Flock
	now         func() time.Time
}

// A Tx is a transaction. Its time is one instant, which everything it writes bears.
type Tx struct {
	*gorm.DB
	Now Instant
}

// Config says how a file is opened.
type Config struct {
	// Filled tells whether the tables hold their first rows, and Fill puts them in:
	// both in transactions, Fill's at most once in the life of a file.
	Filled func(Tx) (bool, error)
	Fill   func(Tx) error

	Now  func() time.Time // time.Now when nil
	Wait time.Duration    // how long to wait for other processes; ten seconds when zero

	migrations fs.FS // those of the program when nil
}

// Open opens the file at path and makes it what this program works with: it is
// created, with its folder, if it is not there; migrated to the program's schema,
// with the file as it was kept beside it; filled; and checked. The error wraps
// ErrNewer, ErrInUse, ErrDamaged or ErrNoDriver where it is one of those.
func Open(ctx context.Context, path string, c Config) (*Store, error) {
	if !hasDriver {
		return nil, ErrNoDriver
	}
	c = c.withDefaults()
	path, err := located(path)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, err
	}
	lock := lockOf(path)
	if err := c.prepare(ctx, lock, path); err != nil {
		return nil, errors.Join(kindOf(err), lock.Unlock())
	}
	s, err := c.connect(path)
	if err != nil {
		return nil, errors.Join(kindOf(err), lock.Unlock())
	}
	s.lock = lock
	if err := s.check(ctx); err != nil {
		return nil, errors.Join(kindOf(err), s.Close())
	}
	return s, nil
}

func (c Config) withDefaults() Config {
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Wait == 0 {
		c.Wait = 10 * time.Second
	}
	if c.migrations == nil {
		c.migrations, _ = fs.Sub(migrations.SQLite(), "sqlite") // an embedded directory
	}
	return c
}

// connect opens both handles of a file that is there.
func (c Config) connect(path string) (*Store, error) {
	write, err := open(writer(path), 1)
	if err != nil {
		return nil, err
	}
	read, err := open(reader(path), 4)
	if err != nil {
		return nil, errors.Join(err, shut(write))
	}
	return &Store{write: write, read: read, now: c.Now}, nil
}

// open returns a handle of at most that many connections.
func open(d dsn, connections int) (*gorm.DB, error) {
	db, err := sql.Open(sqlite.DriverName, d.String())
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(connections)
	db.SetMaxIdleConns(connections)
	if err := d.readBack(db); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	g, err := gorm.Open(sqlite.New(sqlite.Config{Conn: db}), &gorm.Config{
		Logger: logger.Discard, // errors are returned, not printed
	})
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return g, nil
}

// check looks for damage: quickly, without comparing indexes with their tables. It
// does so as a writer: to a connection that only reads, SQLite shows no CHECK.
func (s *Store) check(ctx context.Context) error {
	var found []string
	if err := s.write.WithContext(ctx).Raw("PRAGMA quick_check(1)").Scan(&found).Error; err != nil {
		return err
	}
	if len(found) != 1 || found[0] != "ok" {
		return fmt.Errorf("%w: %s", ErrDamaged, strings.Join(strings.Fields(strings.Join(found, " ")), " "))
	}
	var orphans []struct{ Table, Parent string }
	if err := s.write.WithContext(ctx).Raw("PRAGMA foreign_key_check").Scan(&orphans).Error; err != nil {
		return err
	}
	if len(orphans) > 0 {
		return fmt.Errorf("%w: %d rows refer to nothing", ErrDamaged, len(orphans))
	}
	return nil
}

// Close gives the file and its lock back.
func (s *Store) Close() error {
	return errors.Join(shut(s.read), shut(s.write), s.lock.Unlock())
}

func shut(g *gorm.DB) error {
	db, err := g.DB()
	if err != nil {
		return err
	}
	return db.Close()
}

// Read runs f on the file as it is at one moment. What f reads is of that moment,
// whatever others write meanwhile. F's error comes back, of its kind if the
// database caused it; so it does from Write.
func (s *Store) Read(ctx context.Context, f func(Tx) error) error {
	return s.transact(ctx, s.read, f)
}

// Write runs f in a transaction that no other can stand beside, and keeps what it
// wrote if it returns no error.
func (s *Store) Write(ctx context.Context, f func(Tx) error) error {
	return s.transact(ctx, s.write, f)
}

func (s *Store) transact(ctx context.Context, on *gorm.DB, f func(Tx) error) error {
	return kindOf(on.WithContext(ctx).Transaction(func(tx *gorm.DB) error {
		return f(Tx{tx, InstantOf(s.now())})
	}))
}

// Glance returns a handle that reads one thing at a time, outside of any
// transaction: two reads may be of two moments.
func (s *Store) Glance(ctx context.Context) *gorm.DB { return s.read.WithContext(ctx) }
