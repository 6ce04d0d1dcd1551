package wire_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"reckoner/catalog/wire"
)

// Programs write empty cells after a table; a row that lacks the end of the header
// row's cells is still refused.
func TestTableWithAnEmptyEnd(t *testing.T) {
	rows, err := wire.Table([]byte("code,price,,\nash,1,,\noak,2\n"), []string{"code", "price"}, nil)
	require.NoError(t, err)
	require.Len(t, rows, 2)
	assert.Equal(t, []string{"ash", "1", "oak", "2"}, []string{rows[0].Cell("code"), rows[0].Cell("price"), rows[1].Cell("code"), rows[1].Cell("price")})
	_, err = wire.Table([]byte("code,price,,\nash,1,\n"), []string{"code", "price"}, nil)
	assert.Error(t, err)
}
