-- What a department does: rounds with those invited, what it wrote itself, who brought scores in.

-- A round that is locked never takes scores again; `data_fingerprint` is that of its scores at that time.
ALTER TABLE round ADD COLUMN closes_at INTEGER CHECK (closes_at > opened_at);
ALTER TABLE round ADD COLUMN opened_by INTEGER REFERENCES person (number) ON DELETE SET NULL;
ALTER TABLE round ADD COLUMN locked_at INTEGER CHECK (locked_at >= closed_at);
ALTER TABLE round ADD COLUMN data_fingerprint TEXT CHECK ((data_fingerprint IS NULL) = (locked_at IS NULL));

-- Groups invited to a round; none: everybody. A group that goes takes its invitation along, never making the
-- round open to all: `for_groups` remembers that it was for some.
ALTER TABLE round ADD COLUMN for_groups INTEGER NOT NULL DEFAULT 0 CHECK (for_groups IN (0, 1));
CREATE TABLE round_group (
  round INTEGER NOT NULL REFERENCES round (number) ON DELETE CASCADE,
  practice_group INTEGER NOT NULL REFERENCES practice_group (number) ON DELETE CASCADE,
  PRIMARY KEY (round, practice_group)
) STRICT, WITHOUT ROWID;

CREATE INDEX round_group_group ON round_group (practice_group);

CREATE TRIGGER round_locked BEFORE UPDATE ON round
WHEN OLD.locked_at IS NOT NULL
  AND (NEW.number, NEW.id, NEW.title, NEW.set_id, NEW.opened_at, NEW.closed_at, NEW.closes_at, NEW.locked_at,
       NEW.data_fingerprint, NEW.for_groups)
  IS NOT (OLD.number, OLD.id, OLD.title, OLD.set_id, OLD.opened_at, OLD.closed_at, OLD.closes_at, OLD.locked_at,
       OLD.data_fingerprint, OLD.for_groups)
BEGIN SELECT RAISE(ABORT, 'a locked round is never changed'); END;
CREATE TRIGGER round_kept BEFORE DELETE ON round
BEGIN SELECT RAISE(ABORT, 'a round stays'); END;

-- Files of the department's own library, as text. A change is a further row: the last one of a kind and name is in
-- force, '' takes it out.
CREATE TABLE department_text (
  number INTEGER PRIMARY KEY,
  kind TEXT NOT NULL CHECK (kind IN ('rulings', 'set', 'standard', 'case', 'instrument')),
  name TEXT NOT NULL CHECK (name <> ''),
  yaml TEXT NOT NULL,
  why TEXT NOT NULL,
  written_by INTEGER REFERENCES person (number) ON DELETE SET NULL,
  written_at INTEGER NOT NULL
) STRICT;

CREATE INDEX department_text_name ON department_text (kind, name);
CREATE INDEX department_text_writer ON department_text (written_by);

CREATE TRIGGER department_text_stays BEFORE UPDATE OF number, kind, name, yaml, why, written_at ON department_text
BEGIN SELECT RAISE(ABORT, 'what a department wrote is never changed'); END;
CREATE TRIGGER department_text_kept BEFORE DELETE ON department_text
BEGIN SELECT RAISE(ABORT, 'what a department wrote is never changed'); END;

-- NULL: from a terminal, or by somebody who was erased.
ALTER TABLE score_import ADD COLUMN made_by INTEGER REFERENCES person (number) ON DELETE SET NULL;
