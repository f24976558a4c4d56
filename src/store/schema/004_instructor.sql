-- What the instructor's half keeps: assignments, remarks, sign-offs, who saw and changed what, and for how long.

-- A set given to a group, with its window. Never changed but by being withdrawn: sittings refer to it.
CREATE TABLE assignment (
  number INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE CHECK (id <> ''),
  practice_group INTEGER NOT NULL REFERENCES practice_group (number) ON DELETE CASCADE,
  set_id TEXT NOT NULL CHECK (set_id <> ''),
  mode TEXT NOT NULL CHECK (mode IN ('practice', 'skills-check')),
  opens_at INTEGER NOT NULL,
  closes_at INTEGER NOT NULL CHECK (closes_at > opens_at),
  attempts INTEGER NOT NULL CHECK (attempts >= 1),
  made_at INTEGER NOT NULL,
  withdrawn_at INTEGER
) STRICT;

CREATE INDEX assignment_group ON assignment (practice_group);

CREATE TRIGGER assignment_stays BEFORE UPDATE ON assignment
WHEN OLD.withdrawn_at IS NOT NULL OR NEW.withdrawn_at IS NULL
  OR (NEW.number, NEW.id, NEW.practice_group, NEW.set_id, NEW.mode, NEW.opens_at, NEW.closes_at, NEW.attempts, NEW.made_at)
  IS NOT (OLD.number, OLD.id, OLD.practice_group, OLD.set_id, OLD.mode, OLD.opens_at, OLD.closes_at, OLD.attempts, OLD.made_at)
BEGIN SELECT RAISE(ABORT, 'an assignment is only ever withdrawn, once'); END;

-- Which sittings count as attempts at an assignment. The window stands here too: it holds for a sitting when its
-- group went with its instructor.
CREATE TABLE assigned_sitting (
  sitting INTEGER PRIMARY KEY REFERENCES sitting (number) ON DELETE CASCADE,
  assignment INTEGER REFERENCES assignment (number) ON DELETE SET NULL,
  closes_at INTEGER NOT NULL
) STRICT;

CREATE INDEX assigned_sitting_assignment ON assigned_sitting (assignment);

-- What an instructor wrote about a rater. NULL: the author was erased.
CREATE TABLE remark (
  number INTEGER PRIMARY KEY,
  person INTEGER NOT NULL REFERENCES person (number) ON DELETE CASCADE,
  author INTEGER REFERENCES person (number) ON DELETE SET NULL,
  written_at INTEGER NOT NULL,
  text TEXT NOT NULL CHECK (text <> '')
) STRICT;

CREATE INDEX remark_person ON remark (person);
CREATE INDEX remark_author ON remark (author);

CREATE TRIGGER remark_stays BEFORE UPDATE OF number, person, written_at, text ON remark
BEGIN SELECT RAISE(ABORT, 'a remark is never changed'); END;

-- A competency report as it was signed: its bytes, and a fingerprint over them and all that stands beside them. A
-- correction is a further version.
CREATE TABLE sign_off (
  number INTEGER PRIMARY KEY,
  person INTEGER NOT NULL REFERENCES person (number) ON DELETE CASCADE,
  version INTEGER NOT NULL CHECK (version >= 1),
  signed_by INTEGER REFERENCES person (number) ON DELETE SET NULL,
  name TEXT NOT NULL CHECK (name <> ''),
  signed_at INTEGER NOT NULL,
  valid_until INTEGER CHECK (valid_until > signed_at),
  verdict TEXT NOT NULL CHECK (verdict <> ''),
  why TEXT NOT NULL,
  standard TEXT NOT NULL CHECK (standard <> ''),
  standard_fingerprint TEXT NOT NULL,
  data_fingerprint TEXT NOT NULL,
  program_version TEXT NOT NULL,
  report TEXT NOT NULL CHECK (report <> ''),
  report_fingerprint TEXT NOT NULL,
  fingerprint TEXT NOT NULL,
  UNIQUE (person, version)
) STRICT;

CREATE INDEX sign_off_signer ON sign_off (signed_by);

CREATE TRIGGER sign_off_stays BEFORE UPDATE OF number, person, version, name, signed_at, valid_until, verdict, why, standard,
  standard_fingerprint, data_fingerprint, program_version, report, report_fingerprint, fingerprint ON sign_off
BEGIN SELECT RAISE(ABORT, 'a sign-off is never changed'); END;
CREATE TRIGGER sign_off_kept BEFORE DELETE ON sign_off
WHEN EXISTS (SELECT 1 FROM person WHERE number = OLD.person)
BEGIN SELECT RAISE(ABORT, 'a sign-off goes only with its person'); END;

-- Who saw and changed what. `about` names things (a group, a set, a version), never persons: those are columns, which
-- become NULL when the person is erased.
CREATE TABLE audit (
  number INTEGER PRIMARY KEY,
  at INTEGER NOT NULL,
  actor INTEGER REFERENCES person (number) ON DELETE SET NULL,
  subject INTEGER REFERENCES person (number) ON DELETE SET NULL,
  deed TEXT NOT NULL CHECK (deed <> ''),
  about TEXT NOT NULL
) STRICT;

CREATE INDEX audit_actor ON audit (actor);
CREATE INDEX audit_subject ON audit (subject);

-- How long what concerns persons is kept; the last row is in force, and without one everything stays. Entries of the
-- audit go only when they are older than `purged_before`.
CREATE TABLE retention (
  number INTEGER PRIMARY KEY,
  days INTEGER CHECK (days >= 1),
  set_at INTEGER NOT NULL,
  purged_before INTEGER NOT NULL
) STRICT;

CREATE TRIGGER audit_stays BEFORE UPDATE ON audit
WHEN (NEW.number, NEW.at, NEW.deed, NEW.about) IS NOT (OLD.number, OLD.at, OLD.deed, OLD.about)
  OR (NEW.actor IS NOT OLD.actor AND NEW.actor IS NOT NULL) OR (NEW.subject IS NOT OLD.subject AND NEW.subject IS NOT NULL)
BEGIN SELECT RAISE(ABORT, 'the audit is append-only'); END;
CREATE TRIGGER audit_kept BEFORE DELETE ON audit
WHEN OLD.at >= coalesce((SELECT purged_before FROM retention ORDER BY number DESC LIMIT 1), 0)
BEGIN SELECT RAISE(ABORT, 'the audit is append-only'); END;
