-- What is asked about a round without reading everybody's scores; and when a round that was opened again had been closed.

CREATE INDEX score_round ON score (round, person, case_id, item);
CREATE INDEX sitting_round ON sitting (round);

-- When it was last closed before it was opened again: what was answered by then had its reason shown.
ALTER TABLE round ADD COLUMN shown_until INTEGER CHECK (shown_until >= opened_at);

DROP TRIGGER round_locked;
CREATE TRIGGER round_locked BEFORE UPDATE ON round
WHEN OLD.locked_at IS NOT NULL
  AND (NEW.number, NEW.id, NEW.title, NEW.set_id, NEW.opened_at, NEW.closed_at, NEW.closes_at, NEW.locked_at,
       NEW.data_fingerprint, NEW.for_groups, NEW.shown_until)
  IS NOT (OLD.number, OLD.id, OLD.title, OLD.set_id, OLD.opened_at, OLD.closed_at, OLD.closes_at, OLD.locked_at,
       OLD.data_fingerprint, OLD.for_groups, OLD.shown_until)
BEGIN SELECT RAISE(ABORT, 'a locked round is never changed'); END;
