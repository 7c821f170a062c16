-- What standards are made from and with, and the standards that were made. Both
-- are kept as versions: a change is a new row, and a trial names the version of
-- the set that its levels came from (in its plan, as set).

create table shelf_item (
  id      integer primary key,
  kind    text not null check (kind in ('device', 'stock', 'water')),
  retired integer not null check (retired in (0, 1))
) strict;

create table shelf_version (
  id        integer primary key,
  item_id   integer not null references shelf_item,
  version   integer not null check (version > 0),
  name      text not null check (name <> ''),
  spec      text not null check (json_valid(spec)),
  why       text not null,
  made_at   text not null,
  made_by   text not null,
  made_from text not null,
  unique (item_id, version)
) strict;

create trigger shelf_item_kind before update of kind on shelf_item
begin select raise(abort, 'a thing on the shelf stays what it is'); end;
create trigger shelf_item_kept before delete on shelf_item
begin select raise(abort, 'a thing on the shelf is never deleted'); end;
create trigger shelf_version_stays before update on shelf_version
begin select raise(abort, 'a version of a thing on the shelf never changes'); end;
create trigger shelf_version_kept before delete on shelf_version
begin select raise(abort, 'a version of a thing on the shelf is never deleted'); end;

create table prepared (
  id      integer primary key,
  retired integer not null check (retired in (0, 1))
) strict;

-- spec holds the shelf as it was then, so that a set's values never change
-- because something on the shelf does.
create table prepared_version (
  id          integer primary key,
  prepared_id integer not null references prepared,
  version     integer not null check (version > 0),
  name        text not null check (name <> ''),
  spec        text not null check (json_valid(spec)),
  why         text not null,
  made_at     text not null,
  made_by     text not null,
  made_from   text not null,
  unique (prepared_id, version)
) strict;

create trigger prepared_kept before delete on prepared
begin select raise(abort, 'a prepared set is never deleted'); end;
create trigger prepared_version_stays before update on prepared_version
begin select raise(abort, 'a version of a prepared set never changes'); end;
create trigger prepared_version_kept before delete on prepared_version
begin select raise(abort, 'a version of a prepared set is never deleted'); end;
