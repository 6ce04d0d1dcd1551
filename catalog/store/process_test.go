package store_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/catalog/store"
	"reckoner/catalog/store/storetest"
)

// The environment of this test program when a test starts it as another process.
const (
	roleVariable = "STORE_TEST_ROLE"
	pathVariable = "STORE_TEST_PATH"
)

// TestMain plays the role that the process was started for, if it was.
func TestMain(m *testing.M) {
	roles := map[string]func(context.Context, string) error{"hold": hold, "raise": raise, "die": die}
	play := roles[os.Getenv(roleVariable)]
	if play == nil {
		os.Exit(m.Run())
	}
	if err := play(context.Background(), os.Getenv(pathVariable)); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// hold waits for a line, opens the file, says whether it filled it, and keeps it
// open until there is nothing more to read.
func hold(ctx context.Context, path string) error {
	fmt.Println("ready")
	in := bufio.NewReader(os.Stdin)
	if _, err := in.ReadString('\n'); err != nil {
		return err
	}
	c, did := storetest.Config(), "found"
	fill := c.Fill
	c.Fill = func(tx store.Tx) error {
		did = "filled"
		return fill(tx)
	}
	s, err := store.Open(ctx, path, c)
	if err != nil {
		return err
	}
	fmt.Println(did)
	_, err = io.Copy(io.Discard, in)
	return errors.Join(err, s.Close())
}

const raises = 100

// raise reads the version and writes one more, again and again.
func raise(ctx context.Context, path string) error {
	s, err := store.Open(ctx, path, storetest.Config())
	if err != nil {
		return err
	}
	for range raises {
		err = errors.Join(err, s.Write(ctx, func(tx store.Tx) error {
			var v int
			if err := tx.Raw("SELECT version FROM catalogue").Row().Scan(&v); err != nil {
				return err
			}
			return tx.Exec("UPDATE catalogue SET version = ?", v+1).Error
		}))
	}
	return errors.Join(err, s.Close())
}

// die writes, and is killed with the file open.
func die(ctx context.Context, path string) error {
	s, err := store.Open(ctx, path, storetest.Config())
	if err != nil {
		return err
	}
	if err := s.Write(ctx, func(tx store.Tx) error { return tx.Exec("UPDATE catalogue SET version = 77").Error }); err != nil {
		return err
	}
	self, err := os.FindProcess(os.Getpid())
	if err != nil {
		return err
	}
	return self.Kill()
}

// A process is another run of this program in a role.
type process struct {
	cmd  *exec.Cmd
	in   io.WriteCloser
	out  *bufio.Reader
	errs strings.Builder
}

func start(t *testing.T, role, path string) *process {
	t.Helper()
	p := &process{cmd: exec.Command(os.Args[0])}
	p.cmd.Env = append(os.Environ(), roleVariable+"="+role, pathVariable+"="+path, "GORACE=atexit_sleep_ms=0")
	p.cmd.Stderr = &p.errs
	in, err := p.cmd.StdinPipe()
	require.NoError(t, err)
	out, err := p.cmd.StdoutPipe()
	require.NoError(t, err)
	p.in, p.out = in, bufio.NewReader(out)
	require.NoError(t, p.cmd.Start())
	t.Cleanup(func() { _ = p.cmd.Process.Kill() })
	return p
}

// hears returns the next line that p prints.
func (p *process) hears(t *testing.T) string {
	t.Helper()
	line, err := p.out.ReadString('\n')
	require.NoError(t, err, &p.errs)
	return strings.TrimSpace(line)
}

// begins lets a process in the role hold open the file.
func (p *process) begins(t *testing.T) {
	t.Helper()
	_, err := io.WriteString(p.in, "go\n")
	require.NoError(t, err)
}

// ends waits until p has ended well.
func (p *process) ends(t *testing.T) {
	t.Helper()
	require.NoError(t, p.in.Close())
	require.NoError(t, p.cmd.Wait(), &p.errs)
}
