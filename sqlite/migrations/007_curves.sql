-- Curves as versions that never change: what was seen (points) and decided
-- (roles, points left out, shape, weights). The fitted result is not kept: it is
-- computed from these, so that it cannot contradict them. Which version is in use
-- is the latest row of curve_adoption.

create table curve (
  id      integer primary key,
  retired integer not null check (retired in (0, 1))
) strict;

create table curve_version (
  id        integer primary key,
  curve_id  integer not null references curve,
  version   integer not null check (version > 0),
  name      text not null check (name <> ''),
  spec      text not null check (json_valid(spec)),
  why       text not null,
  made_at   text not null,
  made_by   text not null,
  made_from text not null,
  unique (curve_id, version)
) strict;

create table curve_adoption (
  id         integer primary key,
  version_id integer not null references curve_version,
  why        text not null,
  made_at    text not null,
  made_by    text not null,
  made_from  text not null
) strict;

create trigger curve_kept before delete on curve
begin select raise(abort, 'a curve is never deleted'); end;
create trigger curve_version_stays before update on curve_version
begin select raise(abort, 'a version of a curve never changes'); end;
create trigger curve_version_kept before delete on curve_version
begin select raise(abort, 'a version of a curve is never deleted'); end;
create trigger curve_adoption_stays before update on curve_adoption
begin select raise(abort, 'what was in use when never changes'); end;
create trigger curve_adoption_kept before delete on curve_adoption
begin select raise(abort, 'what was in use when is never deleted'); end;
