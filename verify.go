package main

import (
	"errors"
	"fmt"
	"os"

	"reckoner/catalog"
	"reckoner/catalog/quotes"
)

// A verifyCmd looks at everything that was issued.
type verifyCmd struct {
	database
}

// Run checks the digest of every issued revision and prices it again from its own
// Book.
func (c *verifyCmd) Run(p process) (err error) {
	ctx, stop := p.untilStopped()
	defer stop()
	if _, err := os.Stat(c.DB); err != nil {
		return &inputError{err: err}
	}
	kept, err := catalog.Open(ctx, c.DB)
	if err != nil {
		return c.failure(err)
	}
	defer func() { err = errors.Join(err, kept.Close()) }()
	all, wrong := 0, 0
	err = quotes.New(kept).Verify(ctx, func(v quotes.Verified) {
		all++
		switch {
		case v.Err != nil:
			wrong++
			fmt.Fprintf(p.out, "%s revision %d: WRONG: %v\n", v.Number, v.Revision, v.Err)
		case v.Note != "":
			fmt.Fprintf(p.out, "%s revision %d: as it was sent; %s\n", v.Number, v.Revision, v.Note)
		}
	})
	if err != nil {
		return c.failure(err)
	}
	if wrong > 0 {
		return fmt.Errorf("%d of %d issued revisions are not as they were sent: restore a backup, and keep this file", wrong, all)
	}
	_, err = fmt.Fprintf(p.out, "Issued revisions, each as it was sent: %d\n", all)
	return err
}
