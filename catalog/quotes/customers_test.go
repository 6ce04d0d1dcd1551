package quotes_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/quotes"
	"reckoner/pricing"
	"reckoner/pricing/fault"
)

// called is a customer of a name.
func called(name string) quotes.Customer {
	return quotes.Customer{Customer: pricing.Customer{Name: name}}
}

// A customer is kept as they were written, by an id of their own, and changed only by
// who has seen them as they stand.
func TestCustomersAreKept(t *testing.T) {
	s := opened(t)
	given := quotes.Customer{
		Customer:    pricing.Customer{Name: "Ada Field", Address: []string{"1 Mill Row", "Little\x07Wending"}, DeliveryAddress: []string{"The barn"}, Email: "ada@example.com"},
		PrivateNote: "Comes on\nTuesdays",
	}
	_, _, err := s.AddCustomer(t.Context(), given)
	require.Equal(t, "#/address/1", pointers(t, err))
	given.Address = given.Address[:1]
	c, tag, err := s.AddCustomer(t.Context(), given)
	require.NoError(t, err)
	given.ID = c.ID
	assert.Equal(t, given, c)
	is := func(c quotes.Customer, tag string) {
		t.Helper()
		got, gotTag, err := s.Customer(t.Context(), c.ID)
		require.NoError(t, err)
		assert.Equal(t, c, got)
		assert.Equal(t, tag, gotTag)
	}
	is(c, tag)

	same, sameTag, err := s.AddCustomer(t.Context(), given)
	require.NoError(t, err, "a second of the same name is another")
	assert.NotEqual(t, c.ID, same.ID)
	assert.NotEqual(t, tag, sameTag)

	c.Name, c.Address, c.PrivateNote = "Ada Mill", nil, ""
	_, _, err = s.PutCustomer(t.Context(), c, seen(sameTag))
	require.ErrorIs(t, err, errStale)
	is(given, tag)
	put, putTag, err := s.PutCustomer(t.Context(), c, seen(tag))
	require.NoError(t, err)
	assert.Equal(t, c, put)
	assert.NotEqual(t, tag, putTag)
	is(c, putTag)
	is(same, sameTag)
	_, _, err = s.PutCustomer(t.Context(), c, seen(tag))
	require.ErrorIs(t, err, errStale, "it has been changed since")

	assert.Equal(t, []string{"1 created " + tag, "2 created " + sameTag, "1 edited " + tag + putTag},
		texts(t, raw(t, s.file, "mode=ro"), "SELECT customer_id || ' ' || event || ' ' || etag_before || etag_after FROM events ORDER BY id"))
}

func TestCustomersThatThereAreNot(t *testing.T) {
	s := opened(t)
	for _, id := range []int64{-1, 0, 1, 1 << 60} {
		_, _, err := s.Customer(t.Context(), id)
		require.ErrorAs(t, err, new(*quotes.NotFound))
		c := called("Ada")
		c.ID = id
		_, _, err = s.PutCustomer(t.Context(), c, seen(""))
		require.ErrorAs(t, err, new(*quotes.NotFound))
		if id != 0 {
			d := draftOf(t, visit)
			d.Customer = quotes.Addressee{ID: id}
			_, err = s.Create(t.Context(), d, s.today(), quotes.Once{})
			require.ErrorAs(t, err, new(fault.List))
			assert.Equal(t, "#/customer/id", err.(fault.List)[0].Pointer)
		}
	}
	assert.Zero(t, s.count(t, "customers"))
	assert.Zero(t, s.count(t, "events"))
}

// What is wrong with a customer, and with a draft for one, all of it at once.
func TestFaultsOfCustomersAndDrafts(t *testing.T) {
	s := opened(t)
	long := strings.Repeat("x", 201)
	for _, tt := range []struct {
		c    quotes.Customer
		want string
	}{
		{quotes.Customer{}, "#/name"},
		{called(" "), "#/name"},
		{called(long), "#/name"},
		{quotes.Customer{Customer: pricing.Customer{Email: long, Address: []string{"", long}, DeliveryAddress: []string{long}}, Phone: long, PrivateNote: strings.Repeat("x", 4001)}, "#/name #/address/1 #/delivery_address/0 #/email #/phone #/private_note"},
	} {
		_, _, err := s.AddCustomer(t.Context(), tt.c)
		assert.Equal(t, tt.want, pointers(t, err))
	}
	kept, _, err := s.AddCustomer(t.Context(), called("Bo Larkrise"))
	require.NoError(t, err)
	good := draftOf(t, visit)
	for _, tt := range []struct {
		change func(*quotes.Draft)
		want   string
	}{
		{func(d *quotes.Draft) { *d = quotes.Draft{} }, "#/customer/name #/title #/request/pieces"},
		{func(d *quotes.Draft) { d.Customer.ID = kept.ID }, "#/customer"}, // it is another's
		{func(d *quotes.Draft) { d.Customer.ID, d.Title, d.Note, d.Request.Pieces = 99, "", "\a", nil }, "#/customer/id #/title #/request/pieces #/note"},
		{func(d *quotes.Draft) { d.Customer.Email = long }, "#/customer/email"},
		{func(d *quotes.Draft) { d.Request.Customer = &d.Customer.Customer }, "#/request/customer"},
		{func(d *quotes.Draft) { d.ValidDays = new(-1) }, "#/valid_days"},
		{func(d *quotes.Draft) { d.ValidDays = new(3651) }, "#/valid_days"},
		{func(d *quotes.Draft) {
			d.Title, d.Note, d.PrivateNote = long, strings.Repeat("x", 4001), strings.Repeat("x", 4001)
		}, "#/title #/note #/private_note"},
		{func(d *quotes.Draft) { d.Title = "a\x00b" }, "#/title"},
		{func(d *quotes.Draft) { d.Request.Pieces[0].Tax = "gift" }, "#/request/pieces/0/tax"},
	} {
		d := good
		d.Request = draftOf(t, visit).Request
		tt.change(&d)
		_, err := s.Create(t.Context(), d, s.today(), quotes.Once{})
		assert.Equal(t, tt.want, pointers(t, err))
	}
	assert.Zero(t, s.count(t, "quotes"))
	good.Customer = quotes.Addressee{ID: kept.ID, Customer: kept.Customer} // as it is read
	s.create(t, good)
}

// pointers returns where the faults are that an error is.
func pointers(t *testing.T, err error) string {
	t.Helper()
	faults := fault.List{}
	require.ErrorAs(t, err, &faults)
	var all []string
	for _, f := range faults {
		assert.NotEmpty(t, f.Detail)
		all = append(all, f.Pointer)
	}
	return strings.Join(all, " ")
}

// Customers are found by part of a name, an address or a telephone number, whatever
// its case and accents, and listed the latest first.
func TestCustomersAreFound(t *testing.T) {
	s := opened(t)
	for _, name := range []string{"Émile Øst", "Bo Larkrise", "ÉMILIE 100%", "Ada_Field", "Łukasz Żyła", "Ωμέγα ΣΊΣΥΦΟΣ", "Zoe\u0308 Ng"} {
		c := called(name)
		start := string([]rune(name)[:2])
		c.Email = "mail-" + start + "@Example.com"
		c.Address, c.DeliveryAddress = []string{"2 Café Lane"}, []string{"Barn " + start}
		c.Phone, c.PrivateNote = "01632 960"+start, "a private word"
		_, _, err := s.AddCustomer(t.Context(), c)
		require.NoError(t, err)
	}
	for text, want := range map[string][]int64{
		"": {7, 6, 5, 4, 3, 2, 1}, "émil": {3, 1}, "ÉMIL": {3, 1}, "emil": {3, 1}, "e\u0301mil": {3, 1}, "ØST": {1}, "larkrise": {2}, "bo l": {2}, "%": {3}, "_": {4}, "100%": {3},
		"ŻYŁA": {5}, "zyła": {5}, "ωμέγα": {6}, "σισυφ": {6}, "ZOË": {7}, "zoe n": {7}, "@example.COM": {7, 6, 5, 4, 3, 2, 1}, "mail-bo@": {2}, "cafe lane": {7, 6, 5, 4, 3, 2, 1}, "barn b": {2}, "960bo": {2},
		"private": nil, "name": nil, "' OR 1=1": nil, "larkrise bo": nil,
	} {
		var got []int64
		for before := int64(0); ; {
			page, err := s.Customers(t.Context(), text, before, 2)
			require.NoError(t, err)
			if len(page) == 0 {
				break
			}
			for _, c := range page {
				got = append(got, c.ID)
				kept, _, err := s.Customer(t.Context(), c.ID)
				require.NoError(t, err)
				assert.Equal(t, kept, c)
			}
			before = page[len(page)-1].ID
		}
		assert.Equal(t, want, got, text)
	}
}
