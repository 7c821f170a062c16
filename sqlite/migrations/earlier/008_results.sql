-- Results: what was found in a water, as it was computed at the time. Append-only:
-- a correction or a withdrawal is a new row that names the one it supersedes and
-- says why. A result names what turned its reading round and keeps it: a newer
-- version tells its own value beside the old one, never in its place.
--
-- What made a result stands in a column of its own, which may be empty, for a
-- version of a curve; a record of performance gets the next column. That there is
-- one is a trigger and not a check, since only a trigger can be widened later.

-- key and digest as in reading. text are the signals as typed, signals as they
-- were understood (JSON); level to notes are the outcome, null where nothing can
-- be said; program is the version that computed it. root is the first of a row
-- of corrections (null for the first itself).
create table result (
  id               integer primary key,
  key              text not null unique check (length(key) between 16 and 64),
  digest           text not null,
  curve_version_id integer references curve_version,
  water            text not null check (water <> ''),
  text             text not null,
  signals          text not null check (json_valid(signals)),
  dilution         real not null check (dilution > 0),
  u_dilution       real not null check (u_dilution >= 0),
  u_lot            real not null check (u_lot >= 0),
  analyte          text not null,
  unit             text not null,
  basis            text not null,
  level            real,
  u                real,
  low              real,
  high             real,
  outside          text not null check (outside in ('', 'below', 'above')),
  parts            text not null check (json_valid(parts)),
  notes            text not null check (json_valid(notes)),
  program          text not null,
  note             text not null,
  taken_at         text not null check (taken_at <> ''),
  person_id        integer references person,
  withdrawn        integer not null check (withdrawn in (0, 1)),
  supersedes       integer references result,
  root             integer references result,
  why              text not null,
  kept_at          text not null,
  kept_by          text not null,
  kept_from        text not null,
  check ((supersedes is null) = (root is null)),
  check (supersedes is null or why <> ''),
  check (withdrawn = 0 or supersedes is not null),
  check (text <> '')
) strict;

create unique index result_superseded on result (supersedes) where supersedes is not null;
create index result_curve on result (curve_version_id, id);
create index result_water on result (water, taken_at);

create trigger result_stays before update on result
begin select raise(abort, 'results are append-only: correct one with a new one'); end;
create trigger result_kept_for_good before delete on result
begin select raise(abort, 'results are append-only'); end;
create trigger result_names_its_maker before insert on result
when new.curve_version_id is null
begin select raise(abort, 'a result names what turned its reading round'); end;
create trigger result_corrects_its_own before insert on result
when new.supersedes is not null and not exists (
  select 1 from result o
  where o.id = new.supersedes and o.withdrawn = 0 and coalesce(o.root, o.id) = new.root
    and o.curve_version_id is new.curve_version_id)
begin select raise(abort, 'a correction is of a standing result and made as that was'); end;
