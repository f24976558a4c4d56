-- A store as the program wrote it when its schema was number 1: invented people, two sittings, three imports of
-- which one was taken back. Never edited.
PRAGMA application_id = 1165379684;
PRAGMA foreign_keys = OFF;
BEGIN TRANSACTION;
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
INSERT INTO "answer" VALUES(1,1,'pb-otter','8',1,'c4',2,'observed','4',0.75,1788249720000);
INSERT INTO "answer" VALUES(2,1,'pb-otter','8',2,'c4',2,'observed','3',0.75,1788249720000);
INSERT INTO "answer" VALUES(3,1,'pb-otter','9',1,'c4',NULL,'refused',NULL,NULL,1788249720000);
INSERT INTO "answer" VALUES(4,2,'pb-otter','1',1,'c4',2,'observed','2',0.75,1788249720000);
CREATE TABLE answer_observation (
  answer INTEGER NOT NULL REFERENCES answer (number) ON DELETE CASCADE,
  place INTEGER NOT NULL,
  name TEXT NOT NULL,
  value TEXT NOT NULL,
  PRIMARY KEY (answer, place)
) STRICT, WITHOUT ROWID;
INSERT INTO "answer_observation" VALUES(1,0,'hold','31.2');
INSERT INTO "answer_observation" VALUES(1,1,'position','heel-to-toe');
INSERT INTO "answer_observation" VALUES(2,0,'hold','31.2');
INSERT INTO "answer_observation" VALUES(2,1,'position','heel-to-toe');
INSERT INTO "answer_observation" VALUES(4,0,'hold','31.2');
INSERT INTO "answer_observation" VALUES(4,1,'position','heel-to-toe');
CREATE TABLE answer_reading (
  answer INTEGER NOT NULL REFERENCES answer (number) ON DELETE CASCADE,
  place INTEGER NOT NULL,
  trial INTEGER NOT NULL CHECK (trial >= 1),
  seconds REAL NOT NULL CHECK (seconds >= 0),
  PRIMARY KEY (answer, place),
  UNIQUE (answer, trial)
) STRICT, WITHOUT ROWID;
INSERT INTO "answer_reading" VALUES(1,0,1,12.25);
INSERT INTO "answer_reading" VALUES(1,1,2,31.2);
INSERT INTO "answer_reading" VALUES(2,0,1,12.25);
INSERT INTO "answer_reading" VALUES(2,1,2,31.2);
INSERT INTO "answer_reading" VALUES(4,0,1,12.25);
INSERT INTO "answer_reading" VALUES(4,1,2,31.2);
CREATE TABLE person (
  number INTEGER PRIMARY KEY,
  rater TEXT NOT NULL UNIQUE CHECK (rater <> ''),
  added_at INTEGER NOT NULL
) STRICT;
INSERT INTO "person" VALUES(1,'Zoë Älg',1788249660000);
INSERT INTO "person" VALUES(2,'ben',1788249660000);
INSERT INTO "person" VALUES(3,'ada',1788249660000);
CREATE TABLE schema_migration (number INTEGER PRIMARY KEY, name TEXT NOT NULL, fingerprint TEXT NOT NULL, applied_at INTEGER NOT NULL) STRICT;
INSERT INTO "schema_migration" VALUES(1,'initial','1af7c59dfcb025abc9f709600b8c0e58de8d43a93ad2004f6f256ed228fbbd26',1788249600000);
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
INSERT INTO "score" VALUES(1,1,1,'','','film-1','8',1,'observed',NULL,12.5,NULL,'');
INSERT INTO "score" VALUES(2,1,1,'','','film-1','8',2,'observed','3',31.25,NULL,'');
INSERT INTO "score" VALUES(3,1,2,'','','film-1','9',0,'refused',NULL,NULL,NULL,'');
INSERT INTO "score" VALUES(4,2,2,'','','film-2','1',0,'observed','4',NULL,NULL,'');
CREATE TABLE score_again (
  score INTEGER NOT NULL REFERENCES score (number) ON DELETE CASCADE,
  import INTEGER NOT NULL REFERENCES score_import (number),
  PRIMARY KEY (score, import)
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
INSERT INTO "score_import" VALUES(1,'old films.csv','f1',1788249660000,3,0,NULL);
INSERT INTO "score_import" VALUES(2,'more.csv','f2',1788249720000,1,0,NULL);
INSERT INTO "score_import" VALUES(3,'wrong.csv','f3',1788249720000,1,0,1788249780000);
CREATE TABLE score_note (
  score INTEGER NOT NULL REFERENCES score (number) ON DELETE CASCADE,
  place INTEGER NOT NULL,
  name TEXT NOT NULL,
  value TEXT NOT NULL,
  PRIMARY KEY (score, place)
) STRICT, WITHOUT ROWID;
INSERT INTO "score_note" VALUES(2,0,'hold','31');
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
INSERT INTO "sitting" VALUES(1,'0198f0c2-0000-7000-8000-000000000001',3,'first-steps','practice','','1f','2f','0.1.0',-2,1788249660000,1788250140000);
INSERT INTO "sitting" VALUES(2,'0198f0c2-0000-7000-8000-000000000002',3,'first-steps','calibration','spring','1f','2f','0.1.0',7,1788250800000,NULL);
CREATE UNIQUE INDEX sitting_open ON sitting (person, set_id, round) WHERE finished_at IS NULL;
CREATE INDEX sitting_person ON sitting (person);
CREATE UNIQUE INDEX score_counting ON score (person, round, sitting, case_id, item) WHERE value IS NOT NULL;
CREATE INDEX score_from_import ON score (import);
CREATE INDEX score_again_import ON score_again (import);
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
CREATE TRIGGER score_stays BEFORE UPDATE OF number, person, round, sitting, case_id, item, trial, status, value, seconds,
  scored_at, case_fingerprint ON score
BEGIN SELECT RAISE(ABORT, 'the content of a score is never changed'); END;
COMMIT;
