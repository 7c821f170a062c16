-- Logs that were kept elsewhere before, brought in: what was read, by the bench's waters and,
-- where somebody said so, by its methods. No result is kept of them, since none was said at the time: what
-- they say is worked out by the records that are in use. said is what somebody said of the table (its columns, its
-- names, how its dates are written), rest of a row what stood in columns that mean nothing here, so that nothing is lost.
-- Append-only; a log that should not be there is taken out by a row of earlier_log_place, and back the same way.

create table earlier_log (
  id        integer primary key,
  name      text not null check (name <> ''),
  digest    text not null,
  said      text not null check (json_valid(said)),
  readings  integer not null check (readings > 0),
  made_at   text not null,
  made_by   text not null,
  made_from text not null
) strict;

create table earlier_row (
  id         integer primary key,
  log_id     integer not null references earlier_log,
  source_row integer not null,
  water_id   integer references water,   -- null: known water
  method     text not null check (method <> ''),
  method_id  integer references method,  -- null: none of the bench's
  taken_at   text not null check (taken_at <> ''),
  reading    text not null check (reading <> ''),
  lot        text not null,
  reader     text not null,
  technique  text not null,
  pair       text not null,
  dilution   real not null check (dilution > 0),
  known      real,
  u_known    real not null check (u_known >= 0),
  rest       text not null,
  check ((known is null) = (water_id is not null))
) strict;

create table earlier_log_place (
  id      integer primary key,
  log_id  integer not null references earlier_log,
  place   text not null check (place in ('here', 'removed')),
  why     text not null,
  at      text not null,
  by_name text not null,
  by_from text not null
) strict;

create index earlier_row_water on earlier_row (water_id, log_id);
create index earlier_log_place_log on earlier_log_place (log_id, id);
create trigger earlier_log_stays before update on earlier_log begin select raise(abort, 'earlier logs are append-only'); end;
create trigger earlier_log_kept before delete on earlier_log begin select raise(abort, 'earlier logs are append-only'); end;
create trigger earlier_row_stays before update on earlier_row begin select raise(abort, 'earlier logs are append-only'); end;
create trigger earlier_row_kept before delete on earlier_row begin select raise(abort, 'earlier logs are append-only'); end;
create trigger earlier_log_place_stays before update on earlier_log_place begin select raise(abort, 'where logs stand is append-only'); end;
create trigger earlier_log_place_kept before delete on earlier_log_place begin select raise(abort, 'where logs stand is append-only'); end;
