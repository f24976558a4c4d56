-- Live pairs: two raters who score the same child at the same time, without a key. The scores themselves are imported
-- ones, under a case of their own; here stands who named whom.

-- NULL partner: erased since. Whoever is erased takes the own part along.
CREATE TABLE pair_part (
  number INTEGER PRIMARY KEY,
  case_id TEXT NOT NULL CHECK (case_id <> ''),
  rater INTEGER NOT NULL REFERENCES person (number) ON DELETE CASCADE,
  partner INTEGER REFERENCES person (number) ON DELETE SET NULL,
  instrument TEXT NOT NULL CHECK (instrument <> ''),
  import INTEGER NOT NULL REFERENCES score_import (number),
  handed_in_at INTEGER NOT NULL,
  CHECK (partner IS NULL OR partner <> rater)
) STRICT;

CREATE INDEX pair_part_case ON pair_part (case_id, rater);
CREATE INDEX pair_part_rater ON pair_part (rater);
CREATE INDEX pair_part_partner ON pair_part (partner);

CREATE TRIGGER pair_part_stays BEFORE UPDATE ON pair_part
WHEN (NEW.number, NEW.case_id, NEW.rater, NEW.instrument, NEW.import, NEW.handed_in_at)
  IS NOT (OLD.number, OLD.case_id, OLD.rater, OLD.instrument, OLD.import, OLD.handed_in_at) OR NEW.partner IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'what was handed in is never changed'); END;
