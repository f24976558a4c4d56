-- What the authors of a round's report say in their own words, and links by which somebody who was known from paper
-- takes the own scores over.

-- One row a version: the last one of a field is in force, '' empties it. Not among what a lock holds still: these are
-- words about the data, and when each was written stands beside it.
CREATE TABLE round_words (
  number INTEGER PRIMARY KEY,
  round INTEGER NOT NULL REFERENCES round (number),
  field TEXT NOT NULL CHECK (field <> ''),
  words TEXT NOT NULL,
  written_by INTEGER REFERENCES person (number) ON DELETE SET NULL,
  written_at INTEGER NOT NULL
) STRICT;

CREATE INDEX round_words_field ON round_words (round, field);
CREATE INDEX round_words_writer ON round_words (written_by);

CREATE TRIGGER round_words_stay BEFORE UPDATE OF number, round, field, words, written_at ON round_words
BEGIN SELECT RAISE(ABORT, 'what was written about a round is never changed'); END;
CREATE TRIGGER round_words_writer_stays BEFORE UPDATE OF written_by ON round_words WHEN NEW.written_by IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'what was written about a round is never changed'); END;
CREATE TRIGGER round_words_kept BEFORE DELETE ON round_words
BEGIN SELECT RAISE(ABORT, 'what was written about a round is never changed'); END;

-- For a person without an account, into one group. Of the code only the hash is kept.
CREATE TABLE claim (
  number INTEGER PRIMARY KEY,
  hash TEXT NOT NULL UNIQUE CHECK (hash <> ''),
  person INTEGER NOT NULL REFERENCES person (number) ON DELETE CASCADE,
  practice_group INTEGER NOT NULL REFERENCES practice_group (number) ON DELETE CASCADE,
  made_at INTEGER NOT NULL,
  good_until INTEGER NOT NULL CHECK (good_until >= made_at)
) STRICT;

CREATE INDEX claim_person ON claim (person);
CREATE INDEX claim_group ON claim (practice_group);
