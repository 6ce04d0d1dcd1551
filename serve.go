package main

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"os/signal"
	"syscall"

	"reckoner/api"
	"reckoner/catalog"
	"reckoner/catalog/store"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
)

//go:embed openapi.yaml
var contract []byte

// A database is where a command finds its catalogue.
type database struct {
	DB string `name:"db" help:"The database, a file." env:"RECKONER_DB" default:"reckoner.db" placeholder:"FILE"`
}

// Validate refuses a name that is empty, which would be taken for this folder.
func (d database) Validate() error {
	if d.DB == "" {
		return errors.New("the name of the database is empty: write a file's, or leave --db and RECKONER_DB out")
	}
	return nil
}

// starter is the source of prices where there is no database.
const starter = "the starter book"

// book returns the Book of a day and where it is from: the database, or the starter
// catalogue where there is none.
func (d database) book(p process, on date.Date) (b *book.Book, from string, err error) {
	if _, err := os.Stat(d.DB); errors.Is(err, os.ErrNotExist) {
		b, err := catalog.Starter(on)
		return b, starter, err
	}
	c, err := catalog.Open(p.ctx, d.DB)
	if err != nil {
		return nil, "", d.failure(err)
	}
	defer func() { err = errors.Join(err, c.Close()) }()
	if b, err = c.Book(p.ctx, on); err != nil {
		return nil, "", d.failure(err)
	}
	return b, d.DB, nil
}

// failure says that an error is of the database, and what can be done.
func (d database) failure(err error) error {
	if errors.Is(err, store.ErrNoDriver) {
		return d.explained(err)
	}
	return fmt.Errorf("%s: %w", d.DB, err)
}

// explained says what can be done where there can be no database.
func (d database) explained(err error) error {
	if errors.Is(err, store.ErrNoDriver) {
		return fmt.Errorf("%w: it keeps no database, and serve, backup and restore need one; price, book and example work without, where there is no file %s. Build it with CGO_ENABLED=1 and a C compiler such as gcc", err, d.DB)
	}
	return err
}

// untilStopped returns a context that ends when the process is told to stop. Being
// told twice ends the process at once.
func (p process) untilStopped() (context.Context, context.CancelFunc) {
	ctx, stop := signal.NotifyContext(p.ctx, os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop)
	return ctx, stop
}

// A serveCmd answers over HTTP.
type serveCmd struct {
	database
	Addr string `help:"The address to listen on, of this machine alone." env:"RECKONER_ADDR" default:"127.0.0.1:8080" placeholder:"HOST:PORT"`
}

// Run serves until the process is told to stop.
func (c *serveCmd) Run(p process) (err error) {
	ctx, stop := p.untilStopped()
	defer stop()
	l, err := api.Listen(c.Addr)
	if err != nil {
		return err
	}
	kept, err := catalog.Open(ctx, c.DB)
	if err != nil {
		return errors.Join(c.failure(err), l.Close())
	}
	defer func() { err = errors.Join(err, kept.Close()) }()
	log := slog.New(slog.NewTextHandler(p.err, nil))
	service := api.New(api.Config{Catalog: kept, Contract: contract, Today: p.today, Log: log})
	fmt.Fprintf(p.out, "Reckoner listens on http://%s and keeps its prices in %s. Ctrl-C stops it.\n", l.Addr(), c.DB)
	return api.Serve(ctx, l, service, api.DefaultLimits())
}

// A backupCmd copies the database.
type backupCmd struct {
	database
	File string `arg:"" help:"The file to make; it must not be there yet."`
}

// Run copies the database, which others may be using.
func (c *backupCmd) Run(p process) error {
	ctx, stop := p.untilStopped()
	defer stop()
	if err := store.Backup(ctx, c.DB, c.File); err != nil {
		return c.explained(err)
	}
	_, err := fmt.Fprintf(p.out, "Copied %s to %s, whole and checked.\n", c.DB, c.File)
	return err
}

// A restoreCmd puts a copy in the place of the database.
type restoreCmd struct {
	database
	File string `arg:"" help:"A file that backup made."`
}

// Run restores the copy.
func (c *restoreCmd) Run(p process) error {
	ctx, stop := p.untilStopped()
	defer stop()
	kept, err := store.Restore(ctx, c.File, c.DB)
	if err != nil {
		return c.explained(err)
	}
	fmt.Fprintf(p.out, "Restored %s from %s.\n", c.DB, c.File)
	if kept != "" {
		fmt.Fprintf(p.out, "What was there is kept in %s.\n", kept)
	}
	return nil
}
