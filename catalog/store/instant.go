package store

import "time"

// An Instant is a moment as the tables keep it: microseconds since 1970, UTC.
type Instant int64

// InstantOf returns t without what is below a microsecond.
func InstantOf(t time.Time) Instant { return Instant(t.UnixMicro()) }

// Time returns the moment in UTC.
func (i Instant) Time() time.Time { return time.UnixMicro(int64(i)).UTC() }

// String returns the moment as RFC 3339 has it, with microseconds.
func (i Instant) String() string { return i.Time().Format("2006-01-02T15:04:05.000000Z") }
