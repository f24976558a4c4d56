-- Trials that were taken in their described form, what an instructor made of such an answer, and what was arranged with
-- a rater beforehand.

-- Trials of which the rater had the description, which gives the times, whether or not a watch was run beside it.
CREATE TABLE answer_described (
  answer INTEGER NOT NULL REFERENCES answer (number) ON DELETE CASCADE,
  trial INTEGER NOT NULL CHECK (trial >= 1),
  PRIMARY KEY (answer, trial)
) STRICT, WITHOUT ROWID;

INSERT INTO answer_described (answer, trial) SELECT answer, trial FROM answer_reading WHERE form = 'described';

CREATE TRIGGER answer_described_stays AFTER UPDATE ON answer_described
BEGIN SELECT RAISE(ABORT, 'answers are append-only'); END;
CREATE TRIGGER answer_described_kept BEFORE DELETE ON answer_described
WHEN EXISTS (SELECT 1 FROM answer WHERE number = OLD.answer)
BEGIN SELECT RAISE(ABORT, 'answers are append-only'); END;

-- Whether such an answer is accepted; NULL: taken back. The last row of an answer is in force.
CREATE TABLE described_decision (
  number INTEGER PRIMARY KEY,
  answer INTEGER NOT NULL REFERENCES answer (number) ON DELETE CASCADE,
  accepted INTEGER CHECK (accepted IN (0, 1)),
  why TEXT NOT NULL,
  decided_by INTEGER REFERENCES person (number) ON DELETE SET NULL,
  decided_at INTEGER NOT NULL
) STRICT;

CREATE INDEX described_decision_answer ON described_decision (answer);
CREATE INDEX described_decision_by ON described_decision (decided_by);

CREATE TRIGGER described_decision_stays BEFORE UPDATE OF number, answer, accepted, why, decided_at ON described_decision
BEGIN SELECT RAISE(ABORT, 'a decision is taken back by a further one'); END;
CREATE TRIGGER described_decision_by_stays BEFORE UPDATE OF decided_by ON described_decision WHEN NEW.decided_by IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'a decision is taken back by a further one'); END;
CREATE TRIGGER described_decision_kept BEFORE DELETE ON described_decision
WHEN EXISTS (SELECT 1 FROM answer WHERE number = OLD.answer)
BEGIN SELECT RAISE(ABORT, 'a decision is taken back by a further one'); END;

-- More time for one member of a group, and whether the described form is accepted as it comes. The last row of a member
-- is in force. Why is not asked: it is nobody's business here.
CREATE TABLE arrangement (
  number INTEGER PRIMARY KEY,
  practice_group INTEGER NOT NULL REFERENCES practice_group (number) ON DELETE CASCADE,
  person INTEGER NOT NULL REFERENCES person (number) ON DELETE CASCADE,
  more_minutes INTEGER NOT NULL CHECK (more_minutes BETWEEN 0 AND 527040),
  described INTEGER NOT NULL CHECK (described IN (0, 1)),
  made_by INTEGER REFERENCES person (number) ON DELETE SET NULL,
  made_at INTEGER NOT NULL
) STRICT;

CREATE INDEX arrangement_person ON arrangement (person, practice_group);
CREATE INDEX arrangement_group ON arrangement (practice_group);
CREATE INDEX arrangement_by ON arrangement (made_by);

CREATE TRIGGER arrangement_stays BEFORE UPDATE OF number, practice_group, person, more_minutes, described, made_at ON arrangement
BEGIN SELECT RAISE(ABORT, 'an arrangement is changed by a further one'); END;
CREATE TRIGGER arrangement_by_stays BEFORE UPDATE OF made_by ON arrangement WHEN NEW.made_by IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'an arrangement is changed by a further one'); END;
