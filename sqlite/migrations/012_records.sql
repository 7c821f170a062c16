-- A trial's record of performance, adopted as a calibration of a method in one
-- water: as curves are, in versions that never change. Kept is what the record is
-- computed from again (spec: the trial, up to which reading and exclusion, the
-- fingerprint of these inputs, the seed), and no draw. Which version is in use is the
-- latest row of record_adoption.

create table record (
  id        integer primary key,
  method_id integer not null references method,
  matrix    text not null,
  retired   integer not null check (retired in (0, 1)),
  unique (method_id, matrix)
) strict;

create table record_version (
  id        integer primary key,
  record_id integer not null references record,
  version   integer not null check (version > 0),
  name      text not null check (name <> ''),
  spec      text not null check (json_valid(spec)),
  why       text not null,
  made_at   text not null,
  made_by   text not null,
  made_from text not null,
  unique (record_id, version)
) strict;

create table record_adoption (
  id         integer primary key,
  version_id integer not null references record_version,
  why        text not null,
  made_at    text not null,
  made_by    text not null,
  made_from  text not null
) strict;

create trigger record_kept before delete on record
begin select raise(abort, 'a record is never deleted'); end;
create trigger record_of_its_method before update of method_id, matrix on record
begin select raise(abort, 'a record stays that of its method'); end;
create trigger record_version_stays before update on record_version
begin select raise(abort, 'a version of a record never changes'); end;
create trigger record_version_kept before delete on record_version
begin select raise(abort, 'a version of a record is never deleted'); end;
create trigger record_version_of_a_trial before insert on record_version
when not exists (select 1 from trial where id = json_extract(new.spec, '$.trial') and arriving = 0)
begin select raise(abort, 'a record is that of a trial'); end;
create trigger record_adoption_stays before update on record_adoption
begin select raise(abort, 'what was in use when never changes'); end;
create trigger record_adoption_kept before delete on record_adoption
begin select raise(abort, 'what was in use when is never deleted'); end;

-- A result names a version of a curve or of a record. Of a record's, text holds the
-- readings in notation, signals nothing; reader and lot are those that were named.
-- open is the side to which the set goes on, pieces are those of a set in several.
alter table result add column record_version_id integer references record_version;
alter table result add column reader text not null default '';
alter table result add column lot text not null default '';
alter table result add column open text not null default '' check (open in ('', 'below', 'above'));
alter table result add column pieces text not null default '[]' check (json_valid(pieces));

create index result_record on result (record_version_id, id) where record_version_id is not null;

drop trigger result_names_its_maker;
create trigger result_names_its_maker before insert on result
when (new.curve_version_id is null) = (new.record_version_id is null)
begin select raise(abort, 'a result names what turned its reading round'); end;

drop trigger result_corrects_its_own;
create trigger result_corrects_its_own before insert on result
when new.supersedes is not null and not exists (
  select 1 from result o
  where o.id = new.supersedes and o.withdrawn = 0 and coalesce(o.root, o.id) = new.root
    and o.curve_version_id is new.curve_version_id and o.record_version_id is new.record_version_id)
begin select raise(abort, 'a correction is of a standing result and made as that was'); end;
