-- Who keeps prices must be able to see what was changed, and to take back a price
-- update as a whole.

-- +goose Up
-- A price list that was sent in. Its rows are kept as they were read, and judged
-- against the catalogue each time it is looked at, until it is applied: then the
-- judgement of that moment is kept too. Instants are empty until it happens.
CREATE TABLE updates (
    id           INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    file         TEXT    NOT NULL,
    sha256       TEXT    NOT NULL CHECK (length(sha256) = 64),
    rows         TEXT    NOT NULL CHECK (json_valid(rows)),
    result       TEXT             CHECK (result IS NULL OR json_valid(result)),
    previewed_at INTEGER NOT NULL,
    applied_at   INTEGER,
    withdrawn_at INTEGER,
    CHECK ((result IS NULL) = (applied_at IS NULL)),
    CHECK (withdrawn_at IS NULL OR applied_at IS NOT NULL)
) STRICT;
CREATE INDEX updates_sha256 ON updates (sha256);

-- The update that a price is of; none: it was entered alone, or came with the
-- starter catalogue.
ALTER TABLE prices ADD COLUMN update_id INTEGER REFERENCES updates (id);

-- What an update put in the place of what, for taking it back.
CREATE TABLE update_prices (
    update_id      INTEGER NOT NULL REFERENCES updates (id),
    code           TEXT    NOT NULL,
    effective_from TEXT    NOT NULL,
    old_rate       INTEGER,
    old_unit       TEXT,
    old_update_id  INTEGER,
    PRIMARY KEY (update_id, code, effective_from)
) STRICT, WITHOUT ROWID;

-- One row for every change: what was done to what, and how it stood before and
-- after. Never changed itself.
CREATE TABLE changes (
    id             INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    changed_at     INTEGER NOT NULL,
    version        INTEGER NOT NULL,
    what           TEXT    NOT NULL CHECK (what IN ('put', 'retire', 'put_price', 'delete_price', 'apply_update', 'withdraw_update')),
    class          TEXT    NOT NULL,
    code           TEXT    NOT NULL,
    effective_from TEXT    NOT NULL,
    before         TEXT    CHECK (before IS NULL OR json_valid(before)),
    after          TEXT    CHECK (after IS NULL OR json_valid(after))
) STRICT;
-- +goose StatementBegin
CREATE TRIGGER changes_stay BEFORE UPDATE ON changes BEGIN SELECT raise(ABORT, 'changes are not changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER changes_are_not_replaced BEFORE INSERT ON changes WHEN EXISTS (SELECT 1 FROM changes WHERE id = NEW.id) BEGIN SELECT raise(ABORT, 'changes are not changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER changes_are_kept BEFORE DELETE ON changes BEGIN SELECT raise(ABORT, 'changes are kept'); END;
-- +goose StatementEnd

-- +goose Down
DROP TABLE changes;
DROP TABLE update_prices;
ALTER TABLE prices DROP COLUMN update_id;
DROP TABLE updates;
