package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// Backup copies the file at path to a new file, as it is at one moment, while
// others read and write it. The copy is whole, checked and on the disk, or it is
// not there. It stands alone: Restore, or Open, takes it.
func Backup(ctx context.Context, path, to string) error {
	if !hasDriver {
		return ErrNoDriver
	}
	file, err := located(path)
	if err != nil {
		return err
	}
	copied, err := located(to)
	if err != nil {
		return err
	}
	if err := errors.Join(of(path, mustBe(file)), mustBeFree(to)); err != nil {
		return err
	}
	lock := lockOf(file)
	if err := together(ctx, lock, 10*time.Second); err != nil {
		return of(path, err)
	}
	err = replace(ctx, file, copied, func(string) error { return mustBeFree(to) })
	return errors.Join(of(path, err), lock.Unlock())
}

// Restore puts the copy that Backup made in the place of the file at path. It
// returns the name of a copy of the file that was there, if one was. It is refused
// while any process has that file open, and for a copy that is damaged, of another
// program or of a newer one; what is there then stays as it is.
func Restore(ctx context.Context, from, path string) (kept string, err error) {
	if !hasDriver {
		return "", ErrNoDriver
	}
	file, err := located(path)
	if err != nil {
		return "", err
	}
	copied, err := located(from)
	if err != nil {
		return "", err
	}
	if err := sound(ctx, copied); err != nil {
		return "", of(from, err)
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return "", err
	}
	lock := lockOf(file)
	if err := alone(ctx, lock, time.Second); err != nil {
		return "", of(path, err)
	}
	err = replace(ctx, copied, file, func(string) (err error) {
		kept, err = keep(ctx, file, file+".before-restore")
		return err
	})
	return kept, errors.Join(of(path, err), lock.Unlock())
}

// of says of which file an error is, and of which kind.
func of(path string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: %w", path, kindOf(err))
}

// mustBe refuses a path where there is nothing, or nothing in it.
func mustBe(path string) error {
	there, err := exists(path)
	if err == nil && !there {
		err = errors.New("there is no such database")
	}
	return err
}

// mustBeFree refuses a name that is taken.
func mustBeFree(name string) error {
	if _, err := os.Lstat(name); err == nil {
		return fmt.Errorf("%s exists already: choose another name, or move it away", name)
	}
	return nil
}

// sound checks that the file is a database of this program or an older one.
func sound(ctx context.Context, path string) error {
	if err := mustBe(path); err != nil {
		return err
	}
	db, err := open(reader(path), 1)
	if err != nil {
		return err
	}
	is, _, err := Config{}.withDefaults().schema(ctx, db)
	if err == nil && is == 0 {
		err = fmt.Errorf("%w: it holds no catalogue", ErrDamaged)
	}
	return errors.Join(err, shut(db))
}

// keep makes room at path for another file. What is there it copies to the first
// of the names as, as-2, as-3 ... that is free, so that nothing kept before is
// lost; what lies beside it, and the new file would take for its own, it removes.
func keep(ctx context.Context, path, as string) (kept string, err error) {
	there, err := exists(path)
	if err != nil {
		return "", err
	}
	if there {
		kept = free(as)
		if err := replace(ctx, path, kept, func(string) error { return settle(path) }); err != nil {
			return "", fmt.Errorf("what is there cannot be kept (move it and its -wal away, then try again): %w", err)
		}
	}
	for _, end := range []string{"-wal", "-shm", "-journal"} {
		if err := os.Remove(path + end); err != nil && !os.IsNotExist(err) {
			return kept, err
		}
	}
	return kept, nil
}

// free returns the first of the names name, name-2, name-3 ... that is not taken.
func free(name string) string {
	next := name
	for n := 2; mustBeFree(next) != nil; n++ {
		next = fmt.Sprintf("%s-%d", name, n)
	}
	return next
}
