package quotes_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"reckoner/catalog/quotes"
	"reckoner/catalog/wire"
	"reckoner/pricing/fault"
)

// Whatever is sent as a draft is a quote or is refused with what is wrong with it; a
// quote can be issued, and its document follows from itself.
func FuzzCreate(f *testing.F) {
	s := opened(f)
	for _, c := range []string{`{"name": "Ada Field"}`, `{"id": 1}`, `{"name": "É", "address": ["a"], "email": "b"}`} {
		for _, request := range []string{visit, hours, choices} {
			f.Add([]byte(`{"customer": ` + c + `, "title": "A piece", "valid_days": 3, "note": "n", "private_note": "p", "request": ` + request + `}`))
		}
	}
	files, err := filepath.Glob("../../testdata/pieces/*.json")
	require.NoError(f, err)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(f, err)
		f.Add([]byte(`{"customer": {"name": "Ada"}, "title": "A piece", "request": ` + string(text) + `}`))
	}
	_, _, err = s.AddCustomer(f.Context(), called("Bo Larkrise"))
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, text []byte) {
		var d quotes.Draft
		err := wire.Decode(text, &d)
		var a quotes.Answer
		if err == nil {
			a, err = s.Create(t.Context(), d, s.today(), quotes.Once{})
		}
		if err != nil {
			malformed, faults := (*wire.Malformed)(nil), fault.List{}
			require.True(t, errors.As(err, &malformed) || errors.As(err, &faults), "%v", err)
			return
		}
		require.Equal(t, a, s.get(t, a.Number))
		i := s.do(t, a.Number, "issue")
		require.Equal(t, i.Tag, s.get(t, a.Number).Tag)
		_, note, err := quotes.Check(s.document(t, a.Number, 1))
		require.NoError(t, err)
		require.Empty(t, note)
		s.listedAs(t, a.Number, "issued")
	})
}
