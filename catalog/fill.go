package catalog

import (
	"errors"
	"maps"
	"slices"

	"gorm.io/gorm"

	"reckoner/catalog/store"
	"reckoner/catalog/wire"
)

// batch is how many rows one statement inserts.
const batch = 500

// filled reports whether the catalogue has its first version.
func filled(tx store.Tx) (bool, error) {
	err := tx.Take(&catalogueRow{}).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return false, nil
	}
	return err == nil, err
}

// fill writes the starter catalogue.
func fill(tx store.Tx) error {
	data, err := starterData()
	if err != nil {
		return err
	}
	var entries []entryRow
	for _, c := range append(Classes(), Terms()) {
		for _, e := range c.entries(&data) {
			doc, err := wire.Encode(e.Doc)
			if err != nil {
				return err
			}
			entries = append(entries, entryRow{Class: c.Name, Code: e.Code, Doc: doc})
		}
	}
	all, err := starterPrices(data.Currency)
	if err != nil {
		return err
	}
	var prices []priceRow
	for _, code := range slices.Sorted(maps.Keys(all)) {
		for _, p := range all[code] {
			prices = append(prices, priceRow{Code: code, EffectiveFrom: day{p.From}, Rate: p.Value.Rate, Unit: p.Value.Unit})
		}
	}
	return errors.Join(
		tx.CreateInBatches(entries, batch).Error,
		tx.CreateInBatches(prices, batch).Error,
		tx.Create(&catalogueRow{1, data.Version, data.Currency.String(), tx.Now}).Error)
}
