-- Who may come in. Nothing of this is exported; tokens stand here as SHA-256.

create table secret (
  name  text primary key,
  value text not null
) strict;

create table pairing (
  hash       text primary key,
  person_id  integer not null references person,
  expires_at text not null,
  used_at    text not null
) strict;

create table session (
  hash       text primary key,
  data       blob not null,
  expires_at text not null,
  person_id  integer references person,
  name       text not null,
  role       text not null,
  device     text not null,
  since      text not null
) strict;

create table attempt (
  id        integer primary key,
  from_addr text not null,
  at        text not null
) strict;

create index attempt_at on attempt (at);
