-- What the workshop knows, by date. Dates are calendar days, YYYY-MM-DD, so that
-- the order of text is the order of time; instants are microseconds since 1970 UTC.

-- +goose Up
-- One row. Every change of entries or prices makes the version go up, so that a
-- Book that was made of them is known to be in date by reading this row.
CREATE TABLE catalogue (
    id         INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
    version    INTEGER NOT NULL CHECK (version >= 1),
    currency   TEXT    NOT NULL CHECK (length(currency) = 3),
    changed_at INTEGER NOT NULL
) STRICT;

-- Everything that is in force from a date until the next entry of its class and
-- code. An empty date is before all others: it has always held. Doc is the JSON of
-- the class's type, without prices; of a retired one, as it was last.
CREATE TABLE entries (
    class          TEXT    NOT NULL CHECK (class IN ('timber', 'sheet', 'supply', 'ironmongery', 'method', 'finish', 'labour', 'stage', 'rule', 'terms')),
    code           TEXT    NOT NULL CHECK (length(code) BETWEEN 1 AND 64),
    effective_from TEXT    NOT NULL CHECK (effective_from = '' OR effective_from IS date(effective_from)),
    retired        INTEGER NOT NULL CHECK (retired IN (0, 1)),
    doc            TEXT    NOT NULL CHECK (json_valid(doc)),
    PRIMARY KEY (class, code, effective_from)
) STRICT, WITHOUT ROWID;

-- What a thickness of timber or any other item costs from a date until its next
-- price: rate in ten-thousandths of the currency, for one unit.
CREATE TABLE prices (
    code           TEXT    NOT NULL CHECK (length(code) BETWEEN 1 AND 64),
    effective_from TEXT    NOT NULL CHECK (effective_from IS date(effective_from)),
    rate           INTEGER NOT NULL CHECK (rate BETWEEN 0 AND 9999999999),
    unit           TEXT    NOT NULL CHECK (unit <> ''),
    PRIMARY KEY (code, effective_from)
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE prices;
DROP TABLE entries;
DROP TABLE catalogue;
