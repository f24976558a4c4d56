-- What the practice site keeps: accounts, sessions, groups, one-time codes, composed sets, rounds; and how a reading
-- came about. Once released, this file is never edited.

-- A rater who may sign in. Goes with its person.
CREATE TABLE account (
  person INTEGER PRIMARY KEY REFERENCES person (number) ON DELETE CASCADE,
  role TEXT NOT NULL CHECK (role IN ('student', 'instructor', 'lead')),
  passphrase_hash TEXT NOT NULL CHECK (passphrase_hash <> ''),
  made_at INTEGER NOT NULL,
  seen_at INTEGER
) STRICT;

-- Of the token that a browser holds only the hash is kept; `id` names the session to its owner.
CREATE TABLE session (
  number INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE CHECK (id <> ''),
  token_hash TEXT NOT NULL UNIQUE CHECK (token_hash <> ''),
  account INTEGER NOT NULL REFERENCES account (person) ON DELETE CASCADE,
  begun_at INTEGER NOT NULL,
  seen_at INTEGER NOT NULL CHECK (seen_at >= begun_at)
) STRICT;

CREATE INDEX session_account ON session (account);

CREATE TABLE practice_group (
  number INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE CHECK (id <> ''),
  title TEXT NOT NULL CHECK (title <> ''),
  owner INTEGER NOT NULL REFERENCES account (person) ON DELETE CASCADE,
  made_at INTEGER NOT NULL,
  code TEXT UNIQUE CHECK (code <> ''),
  code_until INTEGER CHECK ((code_until IS NULL) = (code IS NULL)),
  seats INTEGER CHECK (seats >= 1)
) STRICT;

CREATE INDEX practice_group_owner ON practice_group (owner);

CREATE TABLE group_member (
  practice_group INTEGER NOT NULL REFERENCES practice_group (number) ON DELETE CASCADE,
  account INTEGER NOT NULL REFERENCES account (person) ON DELETE CASCADE,
  joined_at INTEGER NOT NULL,
  PRIMARY KEY (practice_group, account)
) STRICT, WITHOUT ROWID;

CREATE INDEX group_member_account ON group_member (account);

-- A one-time code. For whom: NULL when whoever holds it may use it.
CREATE TABLE ticket (
  number INTEGER PRIMARY KEY,
  hash TEXT NOT NULL UNIQUE CHECK (hash <> ''),
  purpose TEXT NOT NULL CHECK (purpose IN ('setup', 'staff', 'reset')),
  account INTEGER REFERENCES account (person) ON DELETE CASCADE,
  made_at INTEGER NOT NULL,
  good_until INTEGER NOT NULL CHECK (good_until >= made_at),
  used_at INTEGER
) STRICT;

CREATE INDEX ticket_account ON ticket (account);

-- A set that was put together for one rater.
CREATE TABLE composed_set (
  number INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE CHECK (id <> ''),
  title TEXT NOT NULL CHECK (title <> ''),
  yaml TEXT NOT NULL CHECK (yaml <> ''),
  person INTEGER NOT NULL REFERENCES person (number) ON DELETE CASCADE,
  made_at INTEGER NOT NULL
) STRICT;

CREATE INDEX composed_set_person ON composed_set (person);

CREATE TABLE round (
  number INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE CHECK (id <> ''),
  title TEXT NOT NULL CHECK (title <> ''),
  set_id TEXT NOT NULL CHECK (set_id <> ''),
  opened_at INTEGER NOT NULL,
  closed_at INTEGER CHECK (closed_at >= opened_at)
) STRICT;

-- That a person was erased, and how much went; not who.
CREATE TABLE erasure (
  number INTEGER PRIMARY KEY,
  erased_at INTEGER NOT NULL,
  sittings INTEGER NOT NULL,
  answers INTEGER NOT NULL,
  scores INTEGER NOT NULL
) STRICT;

-- A reading was taken live from a performance, or read off a described one; at which seconds of the playback the
-- watch was pressed; and whether the device kept good time.
ALTER TABLE answer_reading ADD COLUMN form TEXT NOT NULL DEFAULT 'live' CHECK (form IN ('live', 'described'));
ALTER TABLE answer_reading ADD COLUMN started REAL CHECK (started >= 0);
ALTER TABLE answer_reading ADD COLUMN stopped REAL CHECK (stopped >= started);
ALTER TABLE answer_reading ADD COLUMN sound INTEGER NOT NULL DEFAULT 1 CHECK (sound IN (0, 1));
