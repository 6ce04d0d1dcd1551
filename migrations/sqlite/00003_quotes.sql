-- What was offered to whom. A draft may change; what was sent may not, whoever asks
-- for it: triggers refuse it. SQLite's REPLACE deletes without the triggers of
-- DELETE, so an INSERT of what is there is refused too.

-- +goose Up
-- Doc is the JSON of a customer; words is what a search looks at, in lower case.
CREATE TABLE customers (
    id         INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    doc        TEXT    NOT NULL CHECK (json_valid(doc)),
    words      TEXT    NOT NULL,
    created_at INTEGER NOT NULL
) STRICT;

-- Numbers are given at creation, without a gap: 2026-0001. The day is that of the
-- workshop's own clock.
CREATE TABLE quotes (
    id         INTEGER NOT NULL PRIMARY KEY,
    year       INTEGER NOT NULL CHECK (year BETWEEN 1 AND 9999),
    serial     INTEGER NOT NULL CHECK (serial >= 1),
    number     TEXT    NOT NULL UNIQUE CHECK (number = printf('%04d-%04d', year, serial)),
    created_on TEXT    NOT NULL CHECK (created_on IS date(created_on)),
    created_at INTEGER NOT NULL,
    UNIQUE (year, serial)
) STRICT;

-- What a revision says before it is issued, and is then kept as it was. The customer
-- is one of the table, or written out.
CREATE TABLE drafts (
    quote_id     INTEGER NOT NULL REFERENCES quotes (id),
    revision     INTEGER NOT NULL CHECK (revision >= 1),
    title        TEXT    NOT NULL,
    customer_id  INTEGER REFERENCES customers (id),
    customer     TEXT    CHECK (customer IS NULL OR json_valid(customer)),
    words        TEXT    NOT NULL,
    valid_days   INTEGER CHECK (valid_days >= 0),
    note         TEXT    NOT NULL,
    private_note TEXT    NOT NULL,
    request      TEXT    NOT NULL CHECK (json_valid(request)),
    PRIMARY KEY (quote_id, revision),
    CHECK ((customer_id IS NULL) <> (customer IS NULL))
) STRICT;
CREATE INDEX drafts_customer_id ON drafts (customer_id) WHERE customer_id IS NOT NULL;

-- The Books that issued revisions were priced from, each once, by the digest of its
-- text.
CREATE TABLE books (
    sha256 TEXT NOT NULL PRIMARY KEY CHECK (length(sha256) = 64),
    doc    TEXT NOT NULL CHECK (json_valid(doc))
) STRICT;

-- What was sent. The document is head, request, book and costing put together as
-- they stand, and sha256 is over it; the other columns are copies for
-- lists, and stand first: what is large is not read for them.
CREATE TABLE revisions (
    quote_id    INTEGER NOT NULL,
    revision    INTEGER NOT NULL,
    sha256      TEXT    NOT NULL CHECK (length(sha256) = 64),
    engine      TEXT    NOT NULL,
    issued_at   INTEGER NOT NULL,
    valid_until TEXT    NOT NULL CHECK (valid_until IS date(valid_until)),
    cost        INTEGER NOT NULL,
    fees        INTEGER NOT NULL,
    net         INTEGER NOT NULL,
    discount    INTEGER NOT NULL,
    gross       INTEGER NOT NULL,
    customer    TEXT    NOT NULL CHECK (json_valid(customer)),
    book        TEXT    NOT NULL REFERENCES books (sha256),
    head        TEXT    NOT NULL CHECK (json_valid(head)),
    request     TEXT    NOT NULL CHECK (json_valid(request)),
    costing     TEXT    NOT NULL CHECK (json_valid(costing)),
    PRIMARY KEY (quote_id, revision),
    FOREIGN KEY (quote_id, revision) REFERENCES drafts (quote_id, revision)
) STRICT;

-- One row for every change of a quote or a customer: the ETag before it and after
-- it, and what it left. The status of a revision is the last of its events that is
-- one; of what was accepted, net and gross are those of what was chosen.
CREATE TABLE events (
    id          INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    quote_id    INTEGER REFERENCES quotes (id),
    revision    INTEGER,
    customer_id INTEGER REFERENCES customers (id),
    event       TEXT    NOT NULL CHECK (event IN ('created', 'edited', 'issued', 'accepted', 'declined', 'revised', 'superseded', 'void')),
    happened_at INTEGER NOT NULL,
    etag_before TEXT    NOT NULL,
    etag_after  TEXT    NOT NULL,
    net         INTEGER,
    gross       INTEGER,
    doc         TEXT    CHECK (doc IS NULL OR json_valid(doc)),
    CHECK ((quote_id IS NULL) <> (customer_id IS NULL)),
    CHECK ((quote_id IS NULL) = (revision IS NULL)),
    CHECK (event <> 'accepted' OR net IS NOT NULL AND gross IS NOT NULL AND doc IS NOT NULL),
    FOREIGN KEY (quote_id, revision) REFERENCES drafts (quote_id, revision)
) STRICT;
CREATE INDEX events_quote ON events (quote_id, revision, id) WHERE quote_id IS NOT NULL;
CREATE INDEX events_customer ON events (customer_id) WHERE customer_id IS NOT NULL;
CREATE UNIQUE INDEX events_once ON events (quote_id, revision, event) WHERE event IN ('created', 'issued', 'accepted', 'declined', 'revised', 'superseded', 'void');

-- What was answered to a request that bore an Idempotency-Key.
CREATE TABLE keys (
    path       TEXT    NOT NULL,
    key        TEXT    NOT NULL,
    digest     TEXT    NOT NULL CHECK (length(digest) = 64),
    number     TEXT    NOT NULL,
    etag       TEXT    NOT NULL,
    created_at INTEGER NOT NULL,
    answer     TEXT    NOT NULL,
    PRIMARY KEY (path, key)
) STRICT;
CREATE INDEX keys_created_at ON keys (created_at);

-- How each quote stands: by its newest revision that was issued, else by its draft;
-- and what was ordered, the last that was accepted, whatever was offered since.
-- That the time has passed in which it could be accepted, the day of the question
-- says.
CREATE VIEW standings AS
SELECT q.id, q.number, q.created_on, q.created_at, d.revision, d.title, d.customer_id, coalesce(r.customer, d.customer) AS customer, d.words,
    coalesce((SELECT e.event FROM events e WHERE e.quote_id = q.id AND e.revision = d.revision AND e.event IN ('issued', 'accepted', 'declined', 'void') ORDER BY e.id DESC LIMIT 1), 'draft') AS status,
    r.issued_at, r.valid_until, r.sha256, coalesce(a.net, r.net) AS net, coalesce(a.gross, r.gross) AS gross,
    o.revision AS ordered, o.net AS ordered_net, o.gross AS ordered_gross
FROM quotes q
JOIN drafts d ON d.quote_id = q.id AND d.revision = coalesce(
    (SELECT max(revision) FROM revisions WHERE quote_id = q.id),
    (SELECT max(revision) FROM drafts WHERE quote_id = q.id))
LEFT JOIN revisions r ON r.quote_id = q.id AND r.revision = d.revision
LEFT JOIN events a ON a.quote_id = q.id AND a.revision = d.revision AND a.event = 'accepted'
LEFT JOIN events o ON o.id = (SELECT max(id) FROM events WHERE quote_id = q.id AND event = 'accepted');

-- +goose StatementBegin
CREATE TRIGGER revisions_stay BEFORE UPDATE ON revisions BEGIN SELECT raise(ABORT, 'what was issued is not changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER revisions_are_not_replaced BEFORE INSERT ON revisions WHEN EXISTS (SELECT 1 FROM revisions WHERE quote_id = NEW.quote_id AND revision = NEW.revision OR rowid = NEW.rowid) BEGIN SELECT raise(ABORT, 'what was issued is not replaced'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER revisions_are_kept BEFORE DELETE ON revisions BEGIN SELECT raise(ABORT, 'what was issued is kept'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER books_stay BEFORE UPDATE ON books BEGIN SELECT raise(ABORT, 'a book that was used is not changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER books_are_not_replaced BEFORE INSERT ON books WHEN EXISTS (SELECT 1 FROM books WHERE sha256 = NEW.sha256 OR rowid = NEW.rowid) BEGIN SELECT raise(ABORT, 'a book that was used is not replaced'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER books_are_kept BEFORE DELETE ON books BEGIN SELECT raise(ABORT, 'a book that was used is kept'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER events_stay BEFORE UPDATE ON events BEGIN SELECT raise(ABORT, 'what happened is not changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER events_are_not_replaced BEFORE INSERT ON events WHEN EXISTS (SELECT 1 FROM events WHERE id = NEW.id OR NEW.event <> 'edited' AND quote_id = NEW.quote_id AND revision = NEW.revision AND event = NEW.event) BEGIN SELECT raise(ABORT, 'what happened is not replaced'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER events_end BEFORE INSERT ON events WHEN NEW.event NOT IN ('created', 'revised') AND EXISTS (SELECT 1 FROM events WHERE quote_id = NEW.quote_id AND revision = NEW.revision AND event IN ('accepted', 'superseded', 'void')) BEGIN SELECT raise(ABORT, 'what was accepted, superseded or void has ended'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER events_are_kept BEFORE DELETE ON events BEGIN SELECT raise(ABORT, 'what happened is kept'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER quotes_stay BEFORE UPDATE ON quotes BEGIN SELECT raise(ABORT, 'a number is given once'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER quotes_are_not_replaced BEFORE INSERT ON quotes WHEN EXISTS (SELECT 1 FROM quotes WHERE id = NEW.id OR number = NEW.number OR year = NEW.year AND serial = NEW.serial) BEGIN SELECT raise(ABORT, 'a number is given once'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER quotes_have_no_gap BEFORE INSERT ON quotes WHEN NEW.serial <> 1 + (SELECT coalesce(max(serial), 0) FROM quotes WHERE year = NEW.year) BEGIN SELECT raise(ABORT, 'numbers follow each other'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER quotes_are_kept BEFORE DELETE ON quotes BEGIN SELECT raise(ABORT, 'a number is given once'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER drafts_end BEFORE UPDATE ON drafts WHEN EXISTS (SELECT 1 FROM events WHERE quote_id = OLD.quote_id AND revision = OLD.revision AND event IN ('issued', 'void')) BEGIN SELECT raise(ABORT, 'what was issued, or is void, is not changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER drafts_are_not_moved BEFORE UPDATE ON drafts WHEN NEW.rowid <> OLD.rowid OR NEW.quote_id <> OLD.quote_id OR NEW.revision <> OLD.revision BEGIN SELECT raise(ABORT, 'a draft stays where it is'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER drafts_are_not_replaced BEFORE INSERT ON drafts WHEN EXISTS (SELECT 1 FROM drafts WHERE quote_id = NEW.quote_id AND revision = NEW.revision OR rowid = NEW.rowid) BEGIN SELECT raise(ABORT, 'a draft is not replaced'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER drafts_are_kept BEFORE DELETE ON drafts BEGIN SELECT raise(ABORT, 'a draft is never deleted'); END;
-- +goose StatementEnd

-- +goose Down
DROP VIEW standings;
DROP TABLE keys;
DROP TABLE events;
DROP TABLE revisions;
DROP TABLE books;
DROP TABLE drafts;
DROP TABLE quotes;
DROP TABLE customers;
