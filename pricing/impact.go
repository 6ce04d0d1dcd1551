package pricing

import (
	"reckoner/pricing/date"
	"reckoner/pricing/num"
)

// An Impact is what prices do to the quotes that are out: those that were issued and
// are still valid, and, for another day or a preview, drafts, whose old figures are
// today's.
type Impact struct {
	AsOf     date.Date     `json:"as_of"` // of the prices
	Currency num.Currency  `json:"currency"`
	Preview  int64         `json:"preview,omitzero"`
	Quotes   []Affected    `json:"quotes"`   // by what is lost, the most first
	Unpriced []Unpriced    `json:"unpriced"` // those that cannot be priced from these prices
	Sums     ImpactSums    `json:"sums"`
	Update   *UpdateImpact `json:"update,omitzero"` // the update asked for, else the preview, else the last that was applied
}

// An Affected is one quote that is out. Quoted and would_be are net, after discount
// and before tax; what is left at the quoted price is that less fees and the new cost.
type Affected struct {
	Number     string      `json:"number"`
	Revision   int         `json:"revision"`
	Status     string      `json:"status"` // issued, draft
	Title      string      `json:"title"`
	Customer   string      `json:"customer"`
	ValidUntil date.Date   `json:"valid_until,omitzero"`
	OldCost    num.Money   `json:"old_cost"`
	NewCost    num.Money   `json:"new_cost"`
	Loss       num.Money   `json:"loss"` // new cost less old cost; below zero: a gain
	Quoted     num.Money   `json:"quoted"`
	WouldBe    num.Money   `json:"would_be"`
	Left       num.Money   `json:"margin_left"`
	LeftOf     num.Percent `json:"margin_left_percent"` // of the quoted price less fees
}

// An Unpriced is a quote that cannot be priced, and why.
type Unpriced struct {
	Number   string `json:"number"`
	Revision int    `json:"revision"`
	Title    string `json:"title"`
	Detail   string `json:"detail"`
}

// ImpactSums adds the quotes up.
type ImpactSums struct {
	Count   int       `json:"count"`
	OldCost num.Money `json:"old_cost"`
	NewCost num.Money `json:"new_cost"`
	Loss    num.Money `json:"loss"`
	Quoted  num.Money `json:"quoted"`
	WouldBe num.Money `json:"would_be"`
	Left    num.Money `json:"margin_left"`
}

// An UpdateImpact is what a price update costs the quotes, timber by timber: what is
// bought of each at its old and at its new rates.
type UpdateImpact struct {
	ID      int64          `json:"id"`
	File    string         `json:"file"`
	Status  string         `json:"status"`
	Timbers []TimberImpact `json:"timbers"` // by what is lost, the most first
	Loss    num.Money      `json:"loss"`
}

// A TimberImpact is what the update costs of one timber.
type TimberImpact struct {
	Code        string    `json:"code"`
	Description string    `json:"description"`
	Quotes      int       `json:"quotes"` // that have it
	Old         num.Money `json:"old"`
	New         num.Money `json:"new"`
	Loss        num.Money `json:"loss"`
}
