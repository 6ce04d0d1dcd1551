package piece

import "reckoner/pricing/num"

// A Service is work without parts, for one: delivery and fitting on site.
type Service struct {
	Delivery num.Decimal `json:"delivery,omitzero"` // km, one way
	Drops    int         `json:"drops,omitzero"`    // calls to deliver at
	People   int         `json:"people,omitzero"`   // to carry
	Site     num.Decimal `json:"site,omitzero"`     // hours on site
}

func (s *Service) build(b *bench) {
	for _, m := range []struct {
		name  string
		typed num.Decimal
	}{{"delivery", s.Delivery}, {"site", s.Site}} {
		if m.typed < 0 || m.typed > num.Whole(maxQuantity) {
			b.faults.Add(b.at+"/"+m.name, "%s is out of range: write 0 to %d", m.typed, maxQuantity)
		}
	}
	b.between(b.at+"/drops", s.Drops, 0, maxQuantity)
	b.between(b.at+"/people", s.People, 0, maxQuantity)
	b.made.Visit = s
}
