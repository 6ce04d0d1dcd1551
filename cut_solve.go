package main

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"

	"reckoner/catalog/wire"
)

// solve plans the problems of a file and prints or writes a line for each variant.
// Those that cannot be planned are faults, told when all others are planned.
func (c *cutCmd) solve(p process, text []byte) error {
	if len(c.Stock) > 0 || c.Kerf != "" || c.Trim != "" || c.OffcutMin != "" || c.Units != "mm" {
		return &inputError{err: errors.New("--stock, --units, --kerf, --trim and --offcut-min go with a list of rectangles: problems say theirs themselves")}
	}
	all, err := wire.Instances(text)
	faults, _ := err.(wire.CellFaults)
	plan := func(w io.Writer) error {
		for i := range all {
			unplanned, err := c.variants(w, &all[i])
			if err != nil {
				return err
			}
			faults = append(faults, unplanned...)
		}
		return nil
	}
	if c.Out == "" {
		err = plan(p.out)
	} else if err = os.MkdirAll(c.Out, 0o755); err == nil {
		err = writeFile(filepath.Join(c.Out, "plans.jsonl"), plan)
	}
	if err == nil && len(faults) > 0 {
		slices.SortStableFunc(faults, func(a, b wire.CellFault) int { return a.Row - b.Row })
		err = &inputError{err: faults}
	}
	return err
}

// variants plans the variants of a problem.
func (c *cutCmd) variants(w io.Writer, i *wire.Instance) (faults wire.CellFaults, err error) {
	for _, rotation := range i.Variants() {
		j := i.Job(rotation)
		began := time.Now()
		plan, err := j.Plan(c.effort())
		took := time.Since(began)
		if err != nil {
			faults = append(faults, wire.CellFault{Row: i.Row, Detail: i.Name + ", rotation " + rotation + ": " + err.Error()})
			continue
		}
		if err := printJSON(w, i.Solution(rotation, &plan, took)); err != nil {
			return faults, err
		}
	}
	return faults, nil
}
