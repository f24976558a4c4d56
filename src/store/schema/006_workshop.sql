-- The case workshop: drafts of cases with every version, and what second readers and panels scored.

-- A case being written. Goes to nobody else: without its author (erased) it is the department's. Only ever withdrawn.
CREATE TABLE case_draft (
  number INTEGER PRIMARY KEY,
  case_id TEXT NOT NULL CHECK (case_id <> ''),
  author INTEGER REFERENCES person (number) ON DELETE SET NULL,
  made_at INTEGER NOT NULL,
  withdrawn_at INTEGER CHECK (withdrawn_at >= made_at)
) STRICT;

CREATE UNIQUE INDEX case_draft_open ON case_draft (case_id) WHERE withdrawn_at IS NULL;
CREATE INDEX case_draft_author ON case_draft (author);

CREATE TRIGGER case_draft_stays BEFORE UPDATE OF number, case_id, made_at, withdrawn_at ON case_draft
WHEN (NEW.number, NEW.case_id, NEW.made_at) IS NOT (OLD.number, OLD.case_id, OLD.made_at)
  OR OLD.withdrawn_at IS NOT NULL OR NEW.withdrawn_at IS NULL
BEGIN SELECT RAISE(ABORT, 'a draft is only ever withdrawn, once'); END;
CREATE TRIGGER case_draft_kept BEFORE DELETE ON case_draft
BEGIN SELECT RAISE(ABORT, 'a draft is only ever withdrawn, once'); END;

-- A text of a draft. '': it has faults, so there is no case to take the fingerprint of.
CREATE TABLE case_draft_version (
  draft INTEGER NOT NULL REFERENCES case_draft (number),
  version INTEGER NOT NULL CHECK (version >= 1),
  yaml TEXT NOT NULL CHECK (yaml <> ''),
  case_fingerprint TEXT NOT NULL,
  offered INTEGER NOT NULL CHECK (offered IN (0, 1) AND (offered = 0 OR case_fingerprint <> '')),
  written_at INTEGER NOT NULL,
  PRIMARY KEY (draft, version)
) STRICT;

CREATE TRIGGER case_draft_version_stays BEFORE UPDATE ON case_draft_version
BEGIN SELECT RAISE(ABORT, 'versions of a draft are append-only'); END;
CREATE TRIGGER case_draft_version_kept BEFORE DELETE ON case_draft_version
BEGIN SELECT RAISE(ABORT, 'versions of a draft are append-only'); END;

-- What one reader scored in one version of a case, without seeing key or other readers. NULL: the reader was erased;
-- keys rest on what was read, so that stays.
CREATE TABLE case_reading (
  number INTEGER PRIMARY KEY,
  case_id TEXT NOT NULL CHECK (case_id <> ''),
  case_fingerprint TEXT NOT NULL CHECK (case_fingerprint <> ''),
  reader INTEGER REFERENCES person (number) ON DELETE SET NULL,
  read_at INTEGER NOT NULL,
  UNIQUE (case_id, case_fingerprint, reader)
) STRICT;

CREATE INDEX case_reading_reader ON case_reading (reader);

-- A level as the instrument writes it, a number, or a status; and what the reader has to say about it.
CREATE TABLE case_reading_item (
  reading INTEGER NOT NULL REFERENCES case_reading (number),
  place INTEGER NOT NULL,
  item TEXT NOT NULL CHECK (item <> ''),
  score TEXT NOT NULL CHECK (score <> ''),
  note TEXT NOT NULL,
  PRIMARY KEY (reading, place),
  UNIQUE (reading, item)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER case_reading_stays BEFORE UPDATE OF number, case_id, case_fingerprint, read_at ON case_reading
BEGIN SELECT RAISE(ABORT, 'a reading is never changed'); END;
CREATE TRIGGER case_reading_reader_stays BEFORE UPDATE OF reader ON case_reading WHEN NEW.reader IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'a reading is never changed'); END;
CREATE TRIGGER case_reading_kept BEFORE DELETE ON case_reading
BEGIN SELECT RAISE(ABORT, 'a reading is never changed'); END;
CREATE TRIGGER case_reading_item_stays BEFORE UPDATE ON case_reading_item
BEGIN SELECT RAISE(ABORT, 'a reading is never changed'); END;
CREATE TRIGGER case_reading_item_kept BEFORE DELETE ON case_reading_item
BEGIN SELECT RAISE(ABORT, 'a reading is never changed'); END;
