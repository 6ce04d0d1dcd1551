package store

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"time"

	"github.com/gofrs/flock"
)

// located returns the path of the file itself, where path leads to a link: the
// lock lies beside the file, and so does all that the database puts there.
func located(path string) (string, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	if target, err := filepath.EvalSymlinks(path); err == nil {
		return target, nil
	}
	return path, nil
}

// lockOf returns the lock of the file at path. It lies beside it, since the
// database's own locks are let go between transactions.
func lockOf(path string) *flock.Flock { return flock.New(path+".lock", flock.SetPermissions(0o600)) }

// pause is how long one waits before asking for a lock again.
const pause = 20 * time.Millisecond

// alone takes the lock for this process alone, or says ErrInUse.
func alone(ctx context.Context, lock *flock.Flock, wait time.Duration) error {
	return within(ctx, wait, lock.TryLockContext)
}

// together takes the lock with others, or says ErrInUse.
func together(ctx context.Context, lock *flock.Flock, wait time.Duration) error {
	return within(ctx, wait, lock.TryRLockContext)
}

// within asks for a lock again and again, and says ErrInUse if it was not to be had
// in time.
func within(ctx context.Context, wait time.Duration, try func(context.Context, time.Duration) (bool, error)) error {
	limited, cancel := context.WithTimeout(ctx, wait)
	defer cancel()
	_, err := try(limited, pause)
	if errors.Is(err, context.DeadlineExceeded) && ctx.Err() == nil {
		return ErrInUse
	}
	return err
}

// exists reports whether there is a file at path with anything in it.
func exists(path string) (bool, error) {
	info, err := os.Stat(path)
	if os.IsNotExist(err) {
		return false, nil
	}
	if err == nil && info.IsDir() {
		return false, errors.New("it is a folder: name a file")
	}
	return err == nil && info.Size() > 0, err
}
