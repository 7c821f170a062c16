-- People, methods, lots, needs, and the book of events.
-- Times are RFC 3339 text in UTC with milliseconds, so that they sort. A text
-- that may be missing is '' and not null; null is kept for numbers and links.

create table person (
  id        integer primary key,
  name      text not null unique check (name <> ''),
  role      text not null check (role in ('owner', 'reader')),
  alias     text not null,
  gone      integer not null check (gone in (0, 1)),
  made_at   text not null,
  made_by   text not null,
  made_from text not null
) strict;

create table method (
  id      integer primary key,
  retired integer not null check (retired in (0, 1))
) strict;

-- A version never changes: spec is the description as JSON.
create table method_version (
  id        integer primary key,
  method_id integer not null references method,
  version   integer not null check (version > 0),
  name      text not null check (name <> ''),
  spec      text not null check (json_valid(spec)),
  why       text not null,
  made_at   text not null,
  made_by   text not null,
  made_from text not null,
  unique (method_id, version)
) strict;

create trigger method_version_stays before update on method_version
begin select raise(abort, 'a version of a method never changes'); end;
create trigger method_version_kept before delete on method_version
begin select raise(abort, 'a version of a method is never deleted'); end;

create table lot (
  id            integer primary key,
  method_id     integer not null references method,
  code          text not null check (code <> ''),
  opened_on     text not null,
  expires_on    text not null,
  chart_edition text not null,
  tests         integer not null check (tests >= 0),
  note          text not null,
  retired       integer not null check (retired in (0, 1)),
  made_at       text not null,
  made_by       text not null,
  made_from     text not null,
  unique (method_id, code)
) strict;

create table need (
  id        integer primary key,
  name      text not null unique check (name <> ''),
  spec      text not null check (json_valid(spec)),
  retired   integer not null check (retired in (0, 1)),
  made_at   text not null,
  made_by   text not null,
  made_from text not null
) strict;

-- What was done by whom, when and from where. trial_id is null where no trial
-- is concerned; no foreign key, because a dropped trial keeps its events.
create table event (
  id       integer primary key,
  at       text not null,
  by_name  text not null,
  by_from  text not null,
  trial_id integer,
  what     text not null check (what <> ''),
  why      text not null
) strict;

create index event_trial on event (trial_id, id);

create trigger event_stays before update on event
begin select raise(abort, 'the book of events is append-only'); end;
create trigger event_kept before delete on event
begin select raise(abort, 'the book of events is append-only'); end;
