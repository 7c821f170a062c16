-- Readings, and what is said about them. Append-only: a correction is a new row
-- that names the one it supersedes and says why.

create table photo (
  name       text primary key check (length(name) = 64),  -- SHA-256 of the picture
  media_type text not null check (media_type in ('image/jpeg', 'image/png')),
  data       blob not null,
  person_id  integer references person,
  kept_at    text not null,
  kept_by    text not null,
  kept_from  text not null
) strict;

-- key is made where the reading is taken, once for each reading: a reading that
-- is sent again finds itself here. digest is of all that was sent, to tell a
-- repeat from a different reading under the same key. low and high are what the
-- text was understood as, on the method's own scale before dilution; null where
-- no reading was possible. root is the first of a row of corrections (null for
-- the first itself).
create table reading (
  id         integer primary key,
  key        text not null unique check (length(key) between 16 and 64),
  digest     text not null,
  trial_id   integer not null references trial,
  vial_id    integer not null references vial,
  reader_id  integer references person,
  replicate  integer not null check (replicate > 0),
  dilution   real not null check (dilution > 0),
  u_dilution real not null check (u_dilution >= 0),
  lot_id     integer references lot,
  text       text not null,
  low        real,
  high       real,
  flags      text not null,
  note       text not null,
  photo      text references photo,
  started_at text not null,
  read_at    text not null,
  off_by     real not null,
  after_key  integer not null check (after_key in (0, 1)),
  withdrawn  integer not null check (withdrawn in (0, 1)),
  supersedes integer references reading,
  root       integer references reading,
  why        text not null,
  source_row integer not null,
  kept_at    text not null,
  kept_by    text not null,
  kept_from  text not null,
  check ((supersedes is null) = (root is null)),
  check (supersedes is null or why <> ''),
  check (withdrawn = 0 or (supersedes is not null and text = '')),
  check ((text = '') = (low is null) and (low is null) = (high is null)),
  check (low is null or low <= high),
  check (text <> '' or withdrawn = 1 or flags <> '')
) strict;

-- Partial, so that "supersedes is null" is never looked up in it.
create unique index reading_superseded on reading (supersedes) where supersedes is not null;
create unique index reading_first on reading (vial_id, reader_id, dilution, replicate) where supersedes is null;
create index reading_vial on reading (vial_id, reader_id);
create index reading_trial on reading (trial_id, id);
create index reading_begun on reading (trial_id, reader_id, vial_id) where supersedes is null;
create index reading_withdrawn on reading (trial_id, reader_id, root) where withdrawn = 1;
create index reading_flagged on reading (trial_id) where flags <> '' or off_by <> 0;
create index reading_lot on reading (lot_id, vial_id) where lot_id is not null;
create index reading_kept on reading (trial_id, kept_at);

create trigger reading_stays before update on reading
begin select raise(abort, 'readings are append-only: correct one with a new one'); end;
create trigger reading_kept_for_good before delete on reading
begin select raise(abort, 'readings are append-only'); end;
create trigger reading_in_time before insert on reading
when (select state from trial where id = new.trial_id) not in ('sealed', 'running', 'opened')
begin select raise(abort, 'this trial takes no readings'); end;
create trigger reading_of_its_trial before insert on reading
when (select trial_id from vial where id = new.vial_id) is not new.trial_id
begin select raise(abort, 'a reading belongs to the trial of its vial'); end;
create trigger reading_corrects_its_own before insert on reading
when new.supersedes is not null and not exists (
  select 1 from reading o
  where o.id = new.supersedes and o.vial_id = new.vial_id and o.reader_id is new.reader_id
    and coalesce(o.root, o.id) = new.root)
begin select raise(abort, 'a correction is of the same vial and reader'); end;

-- reading_id is the first of a row of corrections: what is left out stays out
-- when it is corrected. The latest row counts.
create table exclusion (
  id         integer primary key,
  reading_id integer not null references reading,
  excluded   integer not null check (excluded in (0, 1)),
  why        text not null check (why <> ''),
  after_key  integer not null check (after_key in (0, 1)),
  at         text not null,
  by_name    text not null,
  by_from    text not null
) strict;

create index exclusion_reading on exclusion (reading_id, id);
create trigger exclusion_stays before update on exclusion begin select raise(abort, 'exclusions are append-only'); end;
create trigger exclusion_kept before delete on exclusion begin select raise(abort, 'exclusions are append-only'); end;

create table vial_start (
  id         integer primary key,
  key        text not null unique check (length(key) between 16 and 64),
  vial_id    integer not null references vial,
  reader_id  integer not null references person,
  started_at text not null,
  kept_at    text not null,
  kept_by    text not null,
  kept_from  text not null
) strict;

create index vial_start_vial on vial_start (vial_id, id);
create trigger vial_start_stays before update on vial_start begin select raise(abort, 'starts are append-only'); end;
create trigger vial_start_kept before delete on vial_start begin select raise(abort, 'starts are append-only'); end;
