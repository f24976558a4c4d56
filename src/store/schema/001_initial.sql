-- People, sittings, answers, scores. Times are milliseconds since 1970 (UTC). '' stands for "none" where a column
-- is part of a key, as NULL is never equal to NULL. Once released, this file is never edited.

-- The only table that holds a person's name: to delete a person's row is to erase the person.
CREATE TABLE person (
  number INTEGER PRIMARY KEY,
  rater TEXT NOT NULL UNIQUE CHECK (rater <> ''),
  added_at INTEGER NOT NULL
) STRICT;

CREATE TABLE sitting (
  number INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE CHECK (id <> ''),
  person INTEGER NOT NULL REFERENCES person (number) ON DELETE CASCADE,
  set_id TEXT NOT NULL CHECK (set_id <> ''),
  mode TEXT NOT NULL CHECK (mode IN ('practice', 'skills-check', 'calibration')),
  round TEXT NOT NULL,
  instrument_fingerprint TEXT NOT NULL,
  rulings_fingerprint TEXT NOT NULL,
  program_version TEXT NOT NULL,
  seed INTEGER NOT NULL,
  begun_at INTEGER NOT NULL,
  finished_at INTEGER CHECK (finished_at >= begun_at)
) STRICT;

CREATE UNIQUE INDEX sitting_open ON sitting (person, set_id, round) WHERE finished_at IS NULL;
CREATE INDEX sitting_person ON sitting (person);

CREATE TABLE answer (
  number INTEGER PRIMARY KEY,
  sitting INTEGER NOT NULL REFERENCES sitting (number) ON DELETE CASCADE,
  case_id TEXT NOT NULL CHECK (case_id <> ''),
  item TEXT NOT NULL CHECK (item <> ''),
  revision INTEGER NOT NULL CHECK (revision >= 1),
  case_fingerprint TEXT NOT NULL,
  trial INTEGER CHECK (trial >= 1),
  status TEXT NOT NULL,
  value TEXT,
  sureness REAL CHECK (sureness BETWEEN 0 AND 1),
  answered_at INTEGER NOT NULL,
  UNIQUE (sitting, case_id, item, revision)
) STRICT;

CREATE TABLE answer_observation (
  answer INTEGER NOT NULL REFERENCES answer (number) ON DELETE CASCADE,
  place INTEGER NOT NULL,
  name TEXT NOT NULL,
  value TEXT NOT NULL,
  PRIMARY KEY (answer, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE answer_reading (
  answer INTEGER NOT NULL REFERENCES answer (number) ON DELETE CASCADE,
  place INTEGER NOT NULL,
  trial INTEGER NOT NULL CHECK (trial >= 1),
  seconds REAL NOT NULL CHECK (seconds >= 0),
  PRIMARY KEY (answer, place),
  UNIQUE (answer, trial)
) STRICT, WITHOUT ROWID;

CREATE TABLE score_import (
  number INTEGER PRIMARY KEY,
  source TEXT NOT NULL CHECK (source <> ''),
  file_fingerprint TEXT NOT NULL,
  imported_at INTEGER NOT NULL,
  added INTEGER NOT NULL,
  unchanged INTEGER NOT NULL,
  undone_at INTEGER
) STRICT;

CREATE TABLE score (
  number INTEGER PRIMARY KEY,
  import INTEGER NOT NULL REFERENCES score_import (number),
  person INTEGER NOT NULL REFERENCES person (number) ON DELETE CASCADE,
  round TEXT NOT NULL,
  sitting TEXT NOT NULL,
  case_id TEXT NOT NULL CHECK (case_id <> ''),
  item TEXT NOT NULL,
  trial INTEGER NOT NULL CHECK (trial >= 0),
  status TEXT NOT NULL,
  value TEXT,
  seconds REAL CHECK (seconds >= 0),
  scored_at INTEGER,
  case_fingerprint TEXT NOT NULL,
  UNIQUE (person, round, sitting, case_id, item, trial)
) STRICT;

-- Of the trials of an item one counts.
CREATE UNIQUE INDEX score_counting ON score (person, round, sitting, case_id, item) WHERE value IS NOT NULL;
CREATE INDEX score_from_import ON score (import);

CREATE TABLE score_note (
  score INTEGER NOT NULL REFERENCES score (number) ON DELETE CASCADE,
  place INTEGER NOT NULL,
  name TEXT NOT NULL,
  value TEXT NOT NULL,
  PRIMARY KEY (score, place)
) STRICT, WITHOUT ROWID;

-- A score that a later import brought again: undoing the first one leaves it to the other.
CREATE TABLE score_again (
  score INTEGER NOT NULL REFERENCES score (number) ON DELETE CASCADE,
  import INTEGER NOT NULL REFERENCES score_import (number),
  PRIMARY KEY (score, import)
) STRICT, WITHOUT ROWID;

CREATE INDEX score_again_import ON score_again (import);

-- Answers are only ever added. They go when their sitting goes, and that goes with its person.
CREATE TRIGGER answer_stays AFTER UPDATE ON answer
BEGIN SELECT RAISE(ABORT, 'answers are append-only'); END;
CREATE TRIGGER answer_kept BEFORE DELETE ON answer
WHEN EXISTS (SELECT 1 FROM sitting WHERE number = OLD.sitting)
BEGIN SELECT RAISE(ABORT, 'answers are append-only'); END;

CREATE TRIGGER answer_observation_stays AFTER UPDATE ON answer_observation
BEGIN SELECT RAISE(ABORT, 'answers are append-only'); END;
CREATE TRIGGER answer_observation_kept BEFORE DELETE ON answer_observation
WHEN EXISTS (SELECT 1 FROM answer WHERE number = OLD.answer)
BEGIN SELECT RAISE(ABORT, 'answers are append-only'); END;

CREATE TRIGGER answer_reading_stays AFTER UPDATE ON answer_reading
BEGIN SELECT RAISE(ABORT, 'answers are append-only'); END;
CREATE TRIGGER answer_reading_kept BEFORE DELETE ON answer_reading
WHEN EXISTS (SELECT 1 FROM answer WHERE number = OLD.answer)
BEGIN SELECT RAISE(ABORT, 'answers are append-only'); END;

CREATE TRIGGER sitting_stays BEFORE UPDATE ON sitting
WHEN OLD.finished_at IS NOT NULL OR NEW.finished_at IS NULL
  OR (NEW.number, NEW.id, NEW.person, NEW.set_id, NEW.mode, NEW.round, NEW.instrument_fingerprint,
      NEW.rulings_fingerprint, NEW.program_version, NEW.seed, NEW.begun_at)
  IS NOT (OLD.number, OLD.id, OLD.person, OLD.set_id, OLD.mode, OLD.round, OLD.instrument_fingerprint,
      OLD.rulings_fingerprint, OLD.program_version, OLD.seed, OLD.begun_at)
BEGIN SELECT RAISE(ABORT, 'a sitting is only ever finished, once'); END;
CREATE TRIGGER sitting_kept BEFORE DELETE ON sitting
WHEN EXISTS (SELECT 1 FROM person WHERE number = OLD.person)
BEGIN SELECT RAISE(ABORT, 'a sitting goes only with its person'); END;

-- What a score says is never changed; another import may come to own it.
CREATE TRIGGER score_stays BEFORE UPDATE OF number, person, round, sitting, case_id, item, trial, status, value, seconds,
  scored_at, case_fingerprint ON score
BEGIN SELECT RAISE(ABORT, 'the content of a score is never changed'); END;
