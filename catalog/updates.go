package catalog

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"

	"gorm.io/gorm/clause"

	"reckoner/catalog/store"
	"reckoner/catalog/wire"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
	"reckoner/pricing/unit"
)

// An Update is a price list that was sent in, row by row: what it would change, or
// has changed.
type Update struct {
	UpdateHead
	Summary Summary     `json:"summary"`
	Notes   []string    `json:"notes"`
	Rows    []UpdateRow `json:"rows"`
}

// An UpdateHead says what file an update is, and what was done with it.
type UpdateHead struct {
	ID          int64  `json:"id"`
	Status      string `json:"status"` // previewed, applied, withdrawn
	File        string `json:"file"`
	SHA256      string `json:"sha256"` // of the file, in hexadecimal
	PreviewedAt string `json:"previewed_at"`
	AppliedAt   string `json:"applied_at,omitzero"`
	WithdrawnAt string `json:"withdrawn_at,omitzero"`
}

// A Summary counts the rows of an update by what becomes of them; large moves are
// among the changed.
type Summary struct {
	New        int `json:"new"`
	Changed    int `json:"changed"`
	Unchanged  int `json:"unchanged"`
	Refused    int `json:"refused"`
	LargeMoves int `json:"large_moves"`
}

// An UpdateRow is what becomes of one row. Old and new are in the unit that the
// item is priced by; what was given in another unit is under converted.
type UpdateRow struct {
	Row       int          `json:"row"`
	Code      string       `json:"code,omitzero"`
	Outcome   string       `json:"outcome"` // new, changed, unchanged, refused
	Old       *num.Rate    `json:"old,omitzero"`
	New       *num.Rate    `json:"new,omitzero"`
	Unit      unit.Unit    `json:"unit,omitzero"`
	Change    *num.Decimal `json:"change_percent,omitzero"` // below zero: it fell
	Large     bool         `json:"large_move,omitzero"`
	From      date.Date    `json:"effective_from,omitzero"`
	Converted *Converted   `json:"converted,omitzero"`
	Column    string       `json:"column,omitzero"` // at fault
	Detail    string       `json:"detail,omitzero"` // why it was refused
}

// Converted is a price as it was given, and how its unit compares with the item's.
type Converted struct {
	Rate   num.Rate  `json:"rate"`
	Unit   unit.Unit `json:"unit"`
	Factor string    `json:"factor"` // "1 bf = 0.002359737216 m3"
}

// What becomes of a row, and of an update.
const (
	outcomeNew       = "new"
	outcomeChanged   = "changed"
	outcomeUnchanged = "unchanged"
	outcomeRefused   = "refused"

	statusPreviewed = "previewed"
	statusApplied   = "applied"
	statusWithdrawn = "withdrawn"
)

// A List is a price list as it was sent.
type List struct {
	File     string // its name
	Text     []byte
	Rows     []wire.Row
	Progress Progress // may be nil
}

// Progress is told, now and then, how many rows are done, of how many.
type Progress func(done, of int)

func (p Progress) tell(done, of int) {
	if p != nil && (done%batch == 0 || done == of) {
		p(done, of)
	}
}

// ReadList reads a price list: a workbook, or CSV. The error is a wire.CellFaults.
func ReadList(text []byte) ([]wire.Row, error) {
	c := wire.Columns{
		Required: []string{"code", "price", "unit", "currency", "effective_from"},
		Optional: []string{"supplier", "note"},
		Numbers:  []string{"price"}, Dates: []string{"effective_from"},
	}
	read := func() ([]wire.Row, error) { return wire.Table(text, c.Required, c.Optional) }
	if wire.IsWorkbook(text) {
		read = func() ([]wire.Row, error) { return wire.Workbook(text, c) }
	}
	rows, err := read()
	if err == nil && len(rows) == 0 {
		err = wire.CellFaults{{Detail: "there is no price below the header row: write one a row"}}
	}
	return rows, err
}

// A Conflict says why an update cannot be applied or withdrawn as things stand.
type Conflict struct{ Detail string }

// Error returns the detail.
func (c *Conflict) Error() string { return c.Detail }

// Preview keeps a price list and says what it would change; nothing is changed. A
// list that is kept already, by its digest, and was not withdrawn, is returned as
// it stands; fresh is false then.
func (c *Catalog) Preview(ctx context.Context, l List, today date.Date) (u Update, fresh bool, err error) {
	sum := sha256.Sum256(l.Text)
	digest := hex.EncodeToString(sum[:])
	err = c.store.Write(ctx, func(tx store.Tx) error {
		var rows []updateRow
		if err := tx.Where("sha256 = ? AND withdrawn_at IS NULL", digest).Limit(1).Find(&rows).Error; err != nil {
			return err
		}
		if len(rows) == 0 {
			given := readList(l.Rows)
			doc, err := wire.Encode(given)
			if err != nil {
				return err
			}
			fresh = true
			rows = []updateRow{{File: l.File, SHA256: digest, Rows: doc, PreviewedAt: tx.Now, given: given}}
			if err := tx.Create(&rows[0]).Error; err != nil {
				return err
			}
		}
		u, _, err = c.updateOf(tx, rows[0], today, l.Progress)
		return err
	})
	return u, fresh, err
}

// Update returns an update: judged as things stand, or as they stood when it was
// applied. The error may be a *NoUpdate.
func (c *Catalog) Update(ctx context.Context, id int64, today date.Date) (u Update, err error) {
	err = c.store.Read(ctx, func(tx store.Tx) error {
		u, err = c.UpdateIn(tx, id, today)
		return err
	})
	return u, err
}

// UpdateIn is Update within a transaction.
func (c *Catalog) UpdateIn(tx store.Tx, id int64, today date.Date) (u Update, err error) {
	row, err := findUpdate(tx, id)
	if err != nil {
		return u, err
	}
	u, _, err = c.updateOf(tx, row, today, nil)
	return u, err
}

func findUpdate(tx store.Tx, id int64) (updateRow, error) {
	var rows []updateRow
	if err := tx.Where("id = ?", id).Find(&rows).Error; err != nil {
		return updateRow{}, err
	}
	if len(rows) == 0 {
		return updateRow{}, &NoUpdate{id}
	}
	return rows[0], nil
}

// A NoUpdate says that there is no price update with a number.
type NoUpdate struct{ ID int64 }

// Error says which.
func (n *NoUpdate) Error() string { return fmt.Sprintf("there is no price update %d", n.ID) }

// updateOf returns an update with its rows judged and, unless they were judged when
// it was applied, what stood in the places of their prices.
func (c *Catalog) updateOf(tx store.Tx, row updateRow, today date.Date, tell Progress) (u Update, stood []*owned, err error) {
	if row.Result != nil {
		err = wire.Decode(row.Result, &u)
	} else {
		var all judgement
		if row.given == nil {
			err = wire.Decode(row.Rows, &row.given)
		}
		if err == nil {
			all, err = c.judge(tx, row.given, today, tell)
		}
		u.Rows, u.Notes, stood = all.rows, all.notes, all.stood
	}
	u.UpdateHead, u.Summary = row.head(), summed(u.Rows)
	return u, stood, err
}

// head returns what an update is without its rows.
func (r updateRow) head() UpdateHead {
	h := UpdateHead{ID: r.ID, File: r.File, SHA256: r.SHA256, Status: statusPreviewed, PreviewedAt: r.PreviewedAt.String()}
	if r.AppliedAt != nil {
		h.AppliedAt, h.Status = r.AppliedAt.String(), statusApplied
	}
	if r.WithdrawnAt != nil {
		h.WithdrawnAt, h.Status = r.WithdrawnAt.String(), statusWithdrawn
	}
	return h
}

// Updates returns at most that many updates, the latest first: those before one,
// by its number, or from the last when it is 0.
func (c *Catalog) Updates(ctx context.Context, before int64, limit int) ([]UpdateHead, error) {
	on := c.store.Glance(ctx).Omit("rows", "result")
	if before > 0 {
		on = on.Where("id < ?", before)
	}
	var rows []updateRow
	if err := on.Order("id DESC").Limit(limit).Find(&rows).Error; err != nil {
		return nil, err
	}
	heads := make([]UpdateHead, len(rows))
	for i, r := range rows {
		heads[i] = r.head()
	}
	return heads, nil
}

func summed(rows []UpdateRow) (s Summary) {
	for _, r := range rows {
		switch r.Outcome {
		case outcomeNew:
			s.New++
		case outcomeChanged:
			s.Changed++
		case outcomeUnchanged:
			s.Unchanged++
		case outcomeRefused:
			s.Refused++
		}
		if r.Large {
			s.LargeMoves++
		}
	}
	return s
}

// Consent is what somebody says is meant.
type Consent struct {
	SkipRefused      bool `json:"skip_refused,omitzero"`
	AcceptLargeMoves bool `json:"accept_large_moves,omitzero"`
}

// Apply makes every row that is new or changed a dated price, all of them or none.
// The error may be a *NoUpdate, a *Conflict or a *Broken.
func (c *Catalog) Apply(ctx context.Context, id int64, consent Consent, today date.Date) (u Update, err error) {
	err = c.store.Write(ctx, func(tx store.Tx) error {
		row, err := findUpdate(tx, id)
		if err != nil {
			return err
		}
		var stood []*owned
		if u, stood, err = c.updateOf(tx, row, today, nil); err != nil {
			return err
		}
		if err := consent.covers(u); err != nil {
			return err
		}
		if err := writePrices(tx, u, stood); err != nil {
			return err
		}
		at := tx.Now
		row.AppliedAt = &at
		if row.Result, err = wire.Encode(Update{Rows: u.Rows, Notes: u.Notes}); err != nil {
			return err
		}
		u.UpdateHead = row.head()
		return errors.Join(
			tx.Model(&row).Select("Result", "AppliedAt").Updates(&row).Error,
			recordUpdate(tx, "apply_update", u))
	})
	return u, err
}

// covers says what somebody has still to say is meant, if anything.
func (k Consent) covers(u Update) error {
	switch s := u.Summary; {
	case u.Status == statusApplied:
		return &Conflict{fmt.Sprintf("price update %d was applied at %s: withdraw it first, to apply it again", u.ID, u.AppliedAt)}
	case u.Status == statusWithdrawn:
		return &Conflict{fmt.Sprintf("price update %d was withdrawn at %s: send the file again", u.ID, u.WithdrawnAt)}
	case s.Refused > 0 && !k.SkipRefused:
		return &Conflict{fmt.Sprintf("rows refused: %d; mend the file and send it again, or say skip_refused to go without them", s.Refused)}
	case s.LargeMoves > 0 && !k.AcceptLargeMoves:
		return &Conflict{fmt.Sprintf("prices that move more than the terms' large_move_percent: %d; look at them, and say accept_large_moves if they are meant", s.LargeMoves)}
	}
	return nil
}

// writePrices writes the prices of an update, and what stood in their places.
func writePrices(tx store.Tx, u Update, stood []*owned) error {
	var prices []priceRow
	var olds []updatePriceRow
	var earliest date.Date
	for i := range u.Rows {
		r := &u.Rows[i]
		if !r.changes() {
			continue
		}
		prices = append(prices, priceRow{r.Code, day{r.From}, *r.New, r.Unit, &u.ID})
		old := updatePriceRow{UpdateID: u.ID, Code: r.Code, EffectiveFrom: day{r.From}}
		if was := stood[i]; was != nil {
			old.OldRate, old.OldUnit, old.OldUpdateID = &was.Rate, &was.Unit, was.UpdateID
		}
		olds = append(olds, old)
		if earliest.IsZero() || r.From.Compare(earliest) < 0 {
			earliest = r.From
		}
	}
	if len(prices) == 0 {
		return nil
	}
	err := errors.Join(
		tx.Clauses(clause.OnConflict{UpdateAll: true}).CreateInBatches(prices, batch).Error,
		tx.CreateInBatches(olds, batch).Error)
	if err != nil {
		return err
	}
	return pricesFit(tx, earliest)
}

// Withdraw takes an update back: every price that it put in is as it was before, but
// for those that were put or taken away by hand since. A later update of one of them
// is a *Conflict.
func (c *Catalog) Withdraw(ctx context.Context, id int64, today date.Date) (u Update, err error) {
	err = c.store.Write(ctx, func(tx store.Tx) error {
		row, err := findUpdate(tx, id)
		if err != nil {
			return err
		}
		if u, _, err = c.updateOf(tx, row, today, nil); err != nil {
			return err
		}
		if u.Status != statusApplied {
			return &Conflict{fmt.Sprintf("price update %d is %s: only one that is applied can be withdrawn", id, u.Status)}
		}
		if err := takeBack(tx, id); err != nil {
			return err
		}
		at := tx.Now
		row.WithdrawnAt = &at
		u.UpdateHead = row.head()
		return errors.Join(
			tx.Model(&row).Select("WithdrawnAt").Updates(&row).Error,
			recordUpdate(tx, "withdraw_update", u))
	})
	return u, err
}

// takeBack puts back what stood in the places of an update's prices.
func takeBack(tx store.Tx, id int64) error {
	var olds []struct {
		Old updatePriceRow `gorm:"embedded"`
		Now *int64         // the update that the price there is of; nil: it is of none, or there is none
	}
	err := tx.Raw(`SELECT o.*, p.update_id AS now FROM update_prices o
			LEFT JOIN prices p ON p.code = o.code AND p.effective_from = o.effective_from
		WHERE o.update_id = ? ORDER BY o.effective_from, o.code`, id).Scan(&olds).Error
	if err != nil || len(olds) == 0 {
		return err
	}
	var back []priceRow
	for _, o := range olds {
		old := &o.Old
		switch {
		case o.Now == nil: // somebody decided otherwise since: that stays
		case *o.Now != id:
			return &Conflict{fmt.Sprintf("price update %d changed the price of %s from %s since: withdraw that one first", *o.Now, old.Code, old.EffectiveFrom)}
		case old.OldRate != nil:
			back = append(back, priceRow{old.Code, old.EffectiveFrom, *old.OldRate, *old.OldUnit, old.OldUpdateID})
		}
	}
	if err := tx.Where("update_id = ?", id).Delete(&priceRow{}).Error; err != nil {
		return err
	}
	if len(back) > 0 {
		if err := tx.CreateInBatches(back, batch).Error; err != nil {
			return err
		}
	}
	return pricesFit(tx, olds[0].Old.EffectiveFrom.Date)
}

// recordUpdate notes what was done with an update: its summary, not its rows.
func recordUpdate(tx store.Tx, what string, u Update) error {
	after, err := wire.Encode(struct {
		File    string  `json:"file"`
		SHA256  string  `json:"sha256"`
		Summary Summary `json:"summary"`
	}{u.File, u.SHA256, u.Summary})
	if err != nil {
		return err
	}
	return record(tx, changeRow{What: what, Class: "update", Code: fmt.Sprint(u.ID), After: after})
}
