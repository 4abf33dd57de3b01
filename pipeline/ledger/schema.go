package ledger

// tables1 is version 1. Times are UTC text, so that any SQLite tool shows them; 0 and ” mean none.
const tables1 = `
CREATE TABLE counter (next INTEGER NOT NULL);
INSERT INTO counter VALUES (1);
CREATE TABLE jobs (
  id INTEGER PRIMARY KEY,
  device TEXT NOT NULL,
  file TEXT NOT NULL,
  state TEXT NOT NULL,
  reason TEXT NOT NULL DEFAULT '',
  style TEXT NOT NULL DEFAULT '',
  pieces INTEGER NOT NULL DEFAULT 0,
  received TEXT NOT NULL,
  ended TEXT NOT NULL DEFAULT '',
  size INTEGER NOT NULL,
  sha256 TEXT NOT NULL,
  same_as INTEGER NOT NULL DEFAULT 0,
  again_of INTEGER NOT NULL DEFAULT 0,
  original TEXT NOT NULL,
  ticket TEXT NOT NULL DEFAULT '',
  ready INTEGER NOT NULL DEFAULT 0,
  asks TEXT NOT NULL DEFAULT '',
  released INTEGER NOT NULL DEFAULT 0,
  answers TEXT NOT NULL DEFAULT '{}',
  sends INTEGER NOT NULL DEFAULT 0,
  pruning INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX jobs_state ON jobs (device, state, id);
CREATE INDEX jobs_content ON jobs (sha256, id);
CREATE TABLE events (
  seq INTEGER PRIMARY KEY AUTOINCREMENT,
  job INTEGER NOT NULL REFERENCES jobs (id) ON DELETE CASCADE,
  at TEXT NOT NULL,
  kind TEXT NOT NULL,
  from_state TEXT NOT NULL,
  to_state TEXT NOT NULL,
  text TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX events_job ON events (job, seq);
CREATE TABLE files (
  job INTEGER NOT NULL REFERENCES jobs (id) ON DELETE CASCADE,
  name TEXT NOT NULL,
  size INTEGER NOT NULL,
  sha256 TEXT NOT NULL,
  PRIMARY KEY (job, name)
) STRICT;
CREATE TABLE sends (
  job INTEGER NOT NULL REFERENCES jobs (id) ON DELETE CASCADE,
  no INTEGER NOT NULL,
  began TEXT NOT NULL,
  updated TEXT NOT NULL,
  ended TEXT NOT NULL DEFAULT '',
  first INTEGER NOT NULL,
  blocks INTEGER NOT NULL,
  total INTEGER NOT NULL,
  bytes INTEGER NOT NULL,
  sure INTEGER NOT NULL,
  stroke INTEGER NOT NULL,
  tool TEXT NOT NULL,
  end TEXT NOT NULL DEFAULT '',
  cancel INTEGER NOT NULL DEFAULT 0,
  PRIMARY KEY (job, no)
) STRICT;
`

// tables2 adds how far an old job's files are removed, and the indexes by which 100,000 jobs are looked
// through: by state (of all devices, or of one), by device, by the time of ending.
const tables2 = `
ALTER TABLE jobs ADD COLUMN stripped INTEGER NOT NULL DEFAULT 0;
DROP INDEX jobs_state;
CREATE INDEX jobs_state ON jobs (state, device, id);
CREATE INDEX jobs_device ON jobs (device, id);
CREATE INDEX jobs_ended ON jobs (stripped, ended);
CREATE INDEX jobs_pruning ON jobs (id) WHERE pruning <> 0;
`

// tables3 gives each row of jobs and sends the sum of its other columns (sum.go). What stood there before is
// believed once.
const tables3 = `
ALTER TABLE jobs ADD COLUMN sum TEXT NOT NULL DEFAULT '';
ALTER TABLE sends ADD COLUMN sum TEXT NOT NULL DEFAULT '';
UPDATE jobs SET sum = row_sum(id, device, file, state, reason, style, pieces, received, ended, size, sha256, same_as,
  again_of, original, ticket, ready, asks, released, answers, sends, pruning, stripped);
UPDATE sends SET sum = row_sum(job, no, began, updated, ended, first, blocks, total, bytes, sure, stroke, tool, end, cancel);
`

// tables4 adds where a blade was held, as JSON, empty for nowhere. A row whose sum does not hold keeps it so.
const tables4 = `
ALTER TABLE sends ADD COLUMN held TEXT NOT NULL DEFAULT '';
UPDATE sends SET sum = row_sum(job, no, began, updated, ended, first, blocks, total, bytes, sure, stroke, tool, end, cancel, held)
  WHERE sum = row_sum(job, no, began, updated, ended, first, blocks, total, bytes, sure, stroke, tool, end, cancel);
`

// tables5 adds the index by which a device's worker finds the next job to be made, or to be sent, among
// thousands that wait.
const tables5 = `
CREATE INDEX jobs_waiting ON jobs (device, ready, id) WHERE state = 'pending';
`

// tables6 adds what a ticket says of the order, and the pieces of each job with what a person ticked of them. A
// row whose sum does not hold keeps it so.
const tables6 = `
ALTER TABLE jobs ADD COLUMN production TEXT NOT NULL DEFAULT '';
ALTER TABLE jobs ADD COLUMN wearer TEXT NOT NULL DEFAULT '';
ALTER TABLE jobs ADD COLUMN due TEXT NOT NULL DEFAULT '';
ALTER TABLE jobs ADD COLUMN material TEXT NOT NULL DEFAULT '';
UPDATE jobs SET sum = row_sum(id, device, file, state, reason, style, pieces, received, ended, size, sha256, same_as,
  again_of, original, ticket, ready, asks, released, answers, sends, pruning, stripped, production, wearer, due, material)
  WHERE sum = row_sum(id, device, file, state, reason, style, pieces, received, ended, size, sha256, same_as,
  again_of, original, ticket, ready, asks, released, answers, sends, pruning, stripped);
CREATE INDEX jobs_production ON jobs (production, id) WHERE production <> '';
CREATE INDEX jobs_wearer ON jobs (wearer, id) WHERE wearer <> '';
CREATE INDEX jobs_due ON jobs (due, id) WHERE due <> '';
CREATE TABLE pieces (
  job INTEGER NOT NULL REFERENCES jobs (id) ON DELETE CASCADE,
  name TEXT NOT NULL,
  size TEXT NOT NULL,
  quantity INTEGER NOT NULL,
  cut INTEGER NOT NULL DEFAULT 0,
  bundled INTEGER NOT NULL DEFAULT 0,
  sewn INTEGER NOT NULL DEFAULT 0,
  fitted INTEGER NOT NULL DEFAULT 0,
  PRIMARY KEY (job, name, size)
) STRICT, WITHOUT ROWID;
CREATE INDEX pieces_name ON pieces (name, job);
`

// tables7 adds the sum of the lay that a job is made by, empty for none, and whether it may still be replaced. A row
// whose sum does not hold keeps it so.
const tables7 = `
ALTER TABLE jobs ADD COLUMN lay TEXT NOT NULL DEFAULT '';
ALTER TABLE jobs ADD COLUMN lay_fixed INTEGER NOT NULL DEFAULT 0;
UPDATE jobs SET sum = row_sum(id, device, file, state, reason, style, pieces, received, ended, size, sha256, same_as,
  again_of, original, ticket, ready, asks, released, answers, sends, pruning, stripped, production, wearer, due, material, lay, lay_fixed)
  WHERE sum = row_sum(id, device, file, state, reason, style, pieces, received, ended, size, sha256, same_as,
  again_of, original, ticket, ready, asks, released, answers, sends, pruning, stripped, production, wearer, due, material);
`

// tables8 adds the rank of a job among those that wait for its device, the greatest first, and puts it into the index
// by which a worker finds its next job. A row whose sum does not hold keeps it so.
const tables8 = `
ALTER TABLE jobs ADD COLUMN rank INTEGER NOT NULL DEFAULT 0;
UPDATE jobs SET sum = row_sum(id, device, file, state, reason, style, pieces, received, ended, size, sha256, same_as,
  again_of, original, ticket, ready, asks, released, answers, sends, pruning, stripped, production, wearer, due, material, lay, lay_fixed, rank)
  WHERE sum = row_sum(id, device, file, state, reason, style, pieces, received, ended, size, sha256, same_as,
  again_of, original, ticket, ready, asks, released, answers, sends, pruning, stripped, production, wearer, due, material, lay, lay_fixed);
DROP INDEX jobs_waiting;
CREATE INDEX jobs_waiting ON jobs (device, ready, rank DESC, id) WHERE state = 'pending';
`

// tables9 adds what pens and blades have drawn and cut: a row for each run that ended, with its mm, and one for each change
// of the tool, with the mm that the one before it had come to and who changed it. It names jobs by number and holds no key
// of theirs, so that metres stay when old jobs are removed. What was sent before it is not known and not counted.
const tables9 = `
CREATE TABLE tools (
  seq INTEGER PRIMARY KEY AUTOINCREMENT,
  device TEXT NOT NULL,
  at TEXT NOT NULL,
  changed INTEGER NOT NULL,
  mm INTEGER NOT NULL,
  job INTEGER NOT NULL DEFAULT 0,
  no INTEGER NOT NULL DEFAULT 0,
  who TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE UNIQUE INDEX tools_run ON tools (job, no) WHERE changed = 0;
CREATE INDEX tools_device ON tools (device, changed, seq, mm);
`

// tables10 adds what lies in the workroom, rolls and remnants, with all that was said and booked of each, and to each job
// how much of its material it takes, on which remnant it is laid (0 is the roll) and how large that is, and which other
// remnants would hold it. Lengths are mm. What is booked names its job by number and holds no key of it, so that it stays
// when old jobs are removed. A row of jobs whose sum does not hold keeps it so.
const tables10 = `
CREATE TABLE stock (
  material TEXT NOT NULL,
  remnant INTEGER NOT NULL,
  width REAL NOT NULL,
  length REAL NOT NULL,
  to_check INTEGER NOT NULL DEFAULT 0,
  PRIMARY KEY (material, remnant)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX stock_remnant ON stock (remnant) WHERE remnant <> 0;
CREATE TABLE stock_events (
  seq INTEGER PRIMARY KEY AUTOINCREMENT,
  material TEXT NOT NULL,
  remnant INTEGER NOT NULL,
  at TEXT NOT NULL,
  kind TEXT NOT NULL,
  change REAL NOT NULL,
  length REAL NOT NULL,
  to_check INTEGER NOT NULL DEFAULT 0,
  job INTEGER NOT NULL DEFAULT 0,
  who TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX stock_events_of ON stock_events (material, remnant, seq);
CREATE INDEX stock_events_job ON stock_events (job) WHERE job <> 0;
CREATE INDEX events_kind ON events (kind, at);
ALTER TABLE jobs ADD COLUMN laid REAL NOT NULL DEFAULT 0;
ALTER TABLE jobs ADD COLUMN remnant INTEGER NOT NULL DEFAULT 0;
ALTER TABLE jobs ADD COLUMN remnant_width REAL NOT NULL DEFAULT 0;
ALTER TABLE jobs ADD COLUMN remnant_length REAL NOT NULL DEFAULT 0;
ALTER TABLE jobs ADD COLUMN fits TEXT NOT NULL DEFAULT '[]';
UPDATE jobs SET sum = row_sum(id, device, file, state, reason, style, pieces, received, ended, size, sha256, same_as,
  again_of, original, ticket, ready, asks, released, answers, sends, pruning, stripped, production, wearer, due, material, lay, lay_fixed, rank, laid, remnant, remnant_width, remnant_length, fits)
  WHERE sum = row_sum(id, device, file, state, reason, style, pieces, received, ended, size, sha256, same_as,
  again_of, original, ticket, ready, asks, released, answers, sends, pruning, stripped, production, wearer, due, material, lay, lay_fixed, rank);
`

// tables11 adds the index in which a part of a style's name is sought, for which all rows were read before.
const tables11 = `
CREATE INDEX jobs_style ON jobs (style, id) WHERE style <> '';
`
