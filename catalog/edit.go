package catalog

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"gorm.io/gorm/clause"

	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing/book"
	"reckoner/pricing/date"
	"reckoner/pricing/fault"
)

// A Match decides whether a change may be made of what stands now: the JSON of
// what is in force, or nil for nothing. Its error is that of the change.
type Match func(current []byte) error

// A Place is an entry and the day from which a change of it is to hold.
type Place struct {
	Class Class
	Code  string
	From  date.Date
}

// A Broken says that a change would leave no valid Book on a day: the faults are of
// the Book of that day.
type Broken struct {
	On     date.Date
	Faults fault.List
}

// Error says the day and every fault.
func (b *Broken) Error() string {
	return fmt.Sprintf("the book of %s would not be valid:\n%v", b.On, b.Faults)
}

// Put makes doc, the JSON of the class's type, what holds at a place and on all
// days after it until the next entry. The error is what match says; a
// *wire.Malformed or a fault.List, of doc; or a *Broken. It returns doc as it is
// kept.
func (c *Catalog) Put(ctx context.Context, at Place, doc []byte, match Match) (kept []byte, err error) {
	one, err := at.Class.alone(doc)
	if err != nil {
		return nil, err
	}
	if err := at.check(&one); err != nil {
		return nil, err
	}
	if kept, err = wire.Encode(at.Class.entries(&one)[0].Doc); err != nil {
		return nil, err
	}
	return c.change(ctx, at, entryRow{Class: at.Class.Name, Code: at.Code, EffectiveFrom: day{at.From}, Doc: kept}, match)
}

// Retire ends what stands at a place, from that day until the next entry. It is
// as Put; the error may be a *NotFound.
func (c *Catalog) Retire(ctx context.Context, at Place, match Match) error {
	_, err := c.change(ctx, at, entryRow{Class: at.Class.Name, Code: at.Code, EffectiveFrom: day{at.From}, Retired: true}, match)
	return err
}

// check checks what the body of an entry alone can tell.
func (at Place) check(one *book.Data) error {
	faults := at.code(one)
	for _, t := range one.Timbers {
		for i, k := range t.Thicknesses {
			if k.Price != nil {
				faults.Add(fmt.Sprintf("#/thicknesses/%d/price", i), "a price has a place of its own: leave it out here")
			}
		}
	}
	if len(one.Timbers) == 0 {
		for _, p := range priced(one) {
			if *p != nil {
				faults.Add("#/price", "a price has a place of its own: leave it out here")
			}
		}
	}
	return faults.Err()
}

// code checks the code in the body: a table would refuse what is none.
func (at Place) code(one *book.Data) (faults fault.List) {
	if e := at.Class.entries(one)[0]; e.Code != at.Code {
		faults.Add("#/code", "the code is %q in the body and %q in the path: write the same", e.Code, at.Code)
		return faults
	}
	_, err := book.New(*one)
	all, _ := err.(fault.List)
	for _, f := range all { // the rest of it rests on the Book
		if f.Pointer == "#/"+at.Class.List+"/0/code" {
			faults.Add("#/code", "%s", f.Detail)
		}
	}
	return faults
}

// change puts a row in its place, keeps the Books valid, and returns what is then
// in force there, as a Book has it.
func (c *Catalog) change(ctx context.Context, at Place, row entryRow, match Match) (kept text, err error) {
	err = c.store.Write(ctx, func(tx store.Tx) error {
		before, err := at.current(tx)
		if err != nil {
			return err
		}
		what := "put"
		if row.Retired {
			what, row.Doc = "retire", before
			if before == nil {
				return &NotFound{at.Class.Name, at.Code, at.From}
			}
		}
		if err := match(before); err != nil {
			return err
		}
		put := tx.Clauses(clause.OnConflict{UpdateAll: true})
		if err := put.Create(&row).Error; err != nil {
			return err
		}
		if kept, err = at.keepsBooks(tx); err != nil {
			return err
		}
		if kept != nil && !bytes.Equal(kept, row.Doc) { // a default was left out
			row.Doc = kept
			if err := put.Create(&row).Error; err != nil {
				return err
			}
		}
		return record(tx, changeRow{What: what, Class: row.Class, Code: row.Code, EffectiveFrom: row.EffectiveFrom, Before: before, After: kept})
	})
	return kept, err
}

// current returns what is in force at a place, nil for nothing.
func (at Place) current(tx store.Tx) (text, error) {
	var rows []entryRow
	err := tx.Where("class = ? AND code = ? AND effective_from <= ?", at.Class.Name, at.Code, day{at.From}).
		Order("effective_from DESC").Limit(1).Find(&rows).Error
	if err != nil || len(rows) == 0 || rows[0].Retired {
		return nil, err
	}
	return rows[0].Doc, nil
}

// keepsBooks checks the Book of the day of a change and of every later one on which
// anything changes. Faults of the entry itself on that day point into its own body.
// It returns the entry as the Book of the day has it.
func (at Place) keepsBooks(tx store.Tx) (kept text, err error) {
	days, err := changesAfter(tx, at.From)
	if err != nil {
		return nil, err
	}
	for _, d := range append([]date.Date{at.From}, days...) {
		data, err := dataOf(tx, d)
		if err != nil {
			return nil, err
		}
		b, err := book.New(data)
		if faults, bad := err.(fault.List); bad {
			var own error
			if d == at.From { // on a later day it is not in what was sent that something is wrong
				own = at.inside(&data, faults)
			}
			return nil, cmp.Or(own, error(&Broken{d, faults}))
		} else if err != nil {
			return nil, err
		}
		if i := at.index(b.Data()); d == at.From && i >= 0 {
			if kept, err = wire.Encode(at.Class.Entries(b)[i].Doc); err != nil {
				return nil, err
			}
		}
	}
	return kept, nil
}

// index returns where the entry stands in the list of its class, -1 if it does not.
func (at Place) index(data *book.Data) int {
	return slices.IndexFunc(at.Class.entries(data), func(e Entry) bool { return e.Code == at.Code })
}

// changesAfter returns the days after d on which an entry or a price begins to
// hold.
func changesAfter(tx store.Tx, d date.Date) (days []date.Date, err error) {
	var found []day
	err = tx.Raw("SELECT effective_from FROM entries WHERE effective_from > ? UNION SELECT effective_from FROM prices WHERE effective_from > ? ORDER BY 1", day{d}, day{d}).
		Scan(&found).Error
	for _, f := range found {
		days = append(days, f.Date)
	}
	return days, err
}

// inside returns the faults of a Book that are of the entry at a place, as seen
// from its own body, which holds no price.
func (at Place) inside(data *book.Data, faults fault.List) error {
	root := "#/" + at.Class.List
	if at.Class.List != Terms().List {
		root = fmt.Sprintf("%s/%d", root, at.index(data))
	}
	var own fault.List
	for _, f := range faults {
		if rest, ok := strings.CutPrefix(f.Pointer, root); ok && (rest == "" || rest[0] == '/') && !strings.Contains(rest, "/price/") {
			own = append(own, fault.FieldError{Pointer: "#" + rest, Detail: f.Detail})
		}
	}
	return own.Err()
}
