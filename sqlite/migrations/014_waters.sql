-- Waters that are tested again and again, in versions as all things; the samples that
-- results are of; and what became of results that waited for a check.

create table water (
  id      integer primary key,
  retired integer not null check (retired in (0, 1))
) strict;

create table water_version (
  id        integer primary key,
  water_id  integer not null references water,
  version   integer not null check (version > 0),
  name      text not null check (name <> ''),
  spec      text not null check (json_valid(spec)),
  why       text not null,
  made_at   text not null,
  made_by   text not null,
  made_from text not null,
  unique (water_id, version)
) strict;

create trigger water_kept before delete on water
begin select raise(abort, 'a water is never deleted'); end;
create trigger water_version_stays before update on water_version
begin select raise(abort, 'a version of a water never changes'); end;
create trigger water_version_kept before delete on water_version
begin select raise(abort, 'a version of a water is never deleted'); end;

-- A sample is of a water, or it is known water among them: role 'check' with the known
-- and its standard uncertainty. spec is what is said of how it was taken.
create table sample (
  id        integer primary key,
  water_id  integer references water,
  role      text not null check (role in ('routine', 'check', 'duplicate', 'blank', 'spike')),
  known     real,
  u_known   real not null check (u_known >= 0),
  spec      text not null check (json_valid(spec)),
  made_at   text not null,
  made_by   text not null,
  made_from text not null,
  check ((role = 'check') = (known is not null)),
  check ((role = 'check') = (water_id is null))
) strict;

create trigger sample_stays before update on sample
begin select raise(abort, 'samples are append-only'); end;
create trigger sample_kept before delete on sample
begin select raise(abort, 'samples are append-only'); end;

alter table result add column sample_id integer references sample;
create index result_sample on result (sample_id) where sample_id is not null;
create index sample_water on sample (water_id, id) where water_id is not null;
create index sample_check on sample (role, id) where role = 'check';

-- What somebody said became of a result that waited. The latest row counts.
create table result_standing (
  id        integer primary key,
  result_id integer not null references result,
  standing  text not null check (standing in ('stands', 'left out')),
  why       text not null check (why <> ''),
  made_at   text not null,
  made_by   text not null,
  made_from text not null
) strict;

create index result_standing_of on result_standing (result_id, id);
create trigger result_standing_stays before update on result_standing
begin select raise(abort, 'what became of a result is said anew, never changed'); end;
create trigger result_standing_kept before delete on result_standing
begin select raise(abort, 'what became of a result is never deleted'); end;
