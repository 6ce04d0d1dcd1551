package quotes

import (
	"reckoner/catalog"
	"reckoner/catalog/store"
)

// NewOn returns the ledger in the store of a catalogue, which it reads and writes
// through another handle of the same file: one with a clock of its own.
func NewOn(c *catalog.Catalog, s *store.Store) *Ledger { return &Ledger{catalog: c, store: s} }
