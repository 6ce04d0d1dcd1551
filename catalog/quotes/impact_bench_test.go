package quotes_test

import (
	"flag"
	"math/rand/v2"
	"runtime"
	"runtime/metrics"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"reckoner/catalog/quotes"
	"reckoner/catalog/wire"
	"reckoner/pricing"
	"reckoner/pricing/date"
	"reckoner/pricing/num"
)

var outMost = flag.Int("out", 30_000, "how many quotes are out in BenchmarkImpactOfMany, at most")

// kinds is how many of the quotes of these benchmarks are priced to be issued; the
// others are copies of them.
const kinds = 60

// varied returns the n-th draft: a demo request in a timber and of a quantity that are
// drawn.
func varied(b *testing.B, n int, rng *rand.Rand) quotes.Draft {
	b.Helper()
	demos := []string{"pieces/tall-chest", "pieces/low-chest", "pieces/drawer-boxes", "pieces/inch-chest", "pieces/free-parts", "pieces/full-quotation"}
	timbers := []string{"ash-prime", "oak-prime", "cherry-prime", "walnut-prime", "sapele-prime", "beech-prime"}
	d := demo(b, demos[n%len(demos)])
	for i := range d.Request.Pieces {
		p := &d.Request.Pieces[i]
		if _, ok := p.Timbers["show"]; ok {
			p.Timbers["show"] = timbers[rng.IntN(len(timbers))]
		}
		p.Quantity = num.Count(1 + rng.IntN(3))
	}
	return d
}

// copies are the statements that copy the first quotes, of which there are as many as
// kinds, until there are so many: numbers, drafts, what was issued, and the events by
// which it was.
var copies = []string{
	`INSERT INTO quotes (id, year, serial, number, created_on, created_at)
		WITH RECURSIVE n(i) AS (SELECT 1 + max(id) FROM quotes UNION ALL SELECT i + 1 FROM n WHERE i < ?2)
		SELECT n.i, q.year, n.i, printf('%04d-%04d', q.year, n.i), q.created_on, q.created_at FROM n JOIN quotes q ON q.id = 1 + (n.i - 1) % ?1`,
	`INSERT INTO drafts SELECT q.id, 1, d.title, d.customer_id, d.customer, d.words, d.valid_days, d.note, d.private_note, d.request
		FROM quotes q JOIN drafts d ON d.quote_id = 1 + (q.id - 1) % ?1 WHERE q.id > (SELECT max(quote_id) FROM drafts) AND q.id <= ?2`,
	`INSERT INTO revisions (quote_id, revision, sha256, engine, issued_at, valid_until, cost, fees, net, discount, gross, customer, book, head, request, costing)
		SELECT q.id, 1, r.sha256, r.engine, r.issued_at, r.valid_until, r.cost, r.fees, r.net, r.discount, r.gross, r.customer, r.book, r.head, r.request, r.costing
		FROM quotes q JOIN revisions r ON r.quote_id = 1 + (q.id - 1) % ?1 WHERE q.id > (SELECT max(quote_id) FROM revisions) AND q.id <= ?2`,
	`INSERT INTO events (quote_id, revision, event, happened_at, etag_before, etag_after)
		SELECT q.id, 1, e.event, e.happened_at, e.etag_before, e.etag_after
		FROM quotes q JOIN events e ON e.quote_id = 1 + (q.id - 1) % ?1 WHERE q.id > (SELECT max(quote_id) FROM events) AND q.id <= ?2`,
}

// A manyOut is a ledger with many quotes out.
type manyOut struct {
	bench
	texts [][]byte // of the requests of the first kinds
	out   int
}

// newManyOut returns one with as many quotes out as there are kinds.
func newManyOut(b *testing.B) *manyOut {
	b.Helper()
	m := &manyOut{bench: newBench(b), out: kinds}
	rng := rand.New(rand.NewPCG(8, 2026))
	for n := range kinds {
		d := varied(b, n, rng)
		text, err := wire.Encode(d.Request)
		require.NoError(b, err)
		m.texts = append(m.texts, text)
		a, err := m.Create(m.ctx, d, m.day, quotes.Once{})
		require.NoError(b, err)
		require.NoError(b, m.issue(a.Number))
	}
	return m
}

// grow copies quotes until so many are out.
func (m *manyOut) grow(b *testing.B, out int) {
	b.Helper()
	db := raw(b, m.path, "_foreign_keys=1")
	tx, err := db.Begin()
	require.NoError(b, err)
	for _, statement := range copies {
		_, err := tx.Exec(statement, kinds, out)
		require.NoError(b, err)
	}
	require.NoError(b, tx.Commit())
	require.NoError(b, db.Close())
	m.out = out
}

// impact holds them all against the prices of a day.
func (m *manyOut) impact(b *testing.B) pricing.Impact {
	all, err := m.Impact(m.ctx, quotes.Question{Today: m.day, AsOf: date.MustParse("2026-12-01")})
	require.NoError(b, err)
	require.Equal(b, m.out, all.Sums.Count)
	return all
}

// bare decodes the same requests and prices them, and does nothing else.
func (m *manyOut) bare(b *testing.B) {
	for i := range m.out {
		var r pricing.Request
		require.NoError(b, wire.Decode(m.texts[i%kinds], &r))
		_, err := pricing.Cost(r, m.book)
		require.NoError(b, err)
	}
}

// timed returns how long f takes.
func timed(f func()) time.Duration {
	began := time.Now()
	f()
	return time.Since(began)
}

// BenchmarkImpact compares the impact on 10,000 quotes that are out with decoding and
// pricing the same requests bare. At most 1.7 times that is the aim.
func BenchmarkImpact(b *testing.B) {
	m := newManyOut(b)
	m.grow(b, 10_000)
	var ours, bare time.Duration
	for b.Loop() {
		ours += timed(func() { m.impact(b) })
		bare += timed(func() { m.bare(b) })
	}
	b.ReportMetric(ours.Seconds()/bare.Seconds(), "impact/bare")
	b.ReportMetric(ours.Seconds()*1e6/float64(b.N*m.out), "us/quote")
	b.ReportMetric(bare.Seconds()*1e6/float64(b.N*m.out), "us/bare")
}

// BenchmarkImpactOfMany takes a tenth of many quotes and then all of them: for ten
// times as many it takes ten times as long, and beyond the answer no more is live while
// it runs than for few, but for the shorter list that the answer's grew from. It has no
// aim.
func BenchmarkImpactOfMany(b *testing.B) {
	var took [2]time.Duration
	var beyond [2]uint64
	for b.Loop() {
		m := newManyOut(b)
		for i, out := range []int{*outMost / 10, *outMost} {
			m.grow(b, out)
			took[i] = time.Hour
			for range 3 { // the machine does other things too
				took[i] = min(took[i], timed(func() { m.impact(b) }))
			}
			before := live()
			most := watched(func() { m.impact(b) }) - before
			all := m.impact(b)
			answer := min(live()-before, most)
			runtime.KeepAlive(all)
			beyond[i] = most - answer
			b.Logf("%d quotes out: %v, %d us each; the answer has %d kB, and beyond it are %d kB", out, took[i], took[i].Microseconds()/int64(out), answer>>10, beyond[i]>>10)
		}
	}
	b.ReportMetric(took[1].Seconds()/took[0].Seconds(), "time/tenth")
	b.ReportMetric(float64(beyond[0])/1e6, "MB/tenth")
	b.ReportMetric(float64(beyond[1])/1e6, "MB/all")
}

// live returns how many bytes are reachable.
func live() uint64 {
	runtime.GC()
	return liveAtLast()
}

// liveAtLast returns how many were when the garbage was collected last.
func liveAtLast() uint64 {
	s := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	metrics.Read(s)
	return s[0].Value.Uint64()
}

// watched returns the most bytes that were reachable while f ran.
func watched(f func()) (most uint64) {
	done, watched := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(watched)
		for {
			most = max(most, liveAtLast())
			select {
			case <-done:
				return
			case <-time.After(5 * time.Millisecond):
			}
		}
	}()
	f()
	close(done)
	<-watched
	return most
}
