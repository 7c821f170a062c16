-- Trials, their knowns and vials. The plan is JSON while it is being made; on
-- sealing, knowns and vials are written once and stay.

create table trial (
  id          integer primary key,
  state       text not null check (state in ('planned', 'sealed', 'running', 'opened', 'finished')),
  title       text not null check (title <> ''),
  plan        text not null check (json_valid(plan)),
  needs       text not null check (json_valid(needs)),  -- as they were when it was sealed
  notes       text not null check (json_valid(notes)),  -- doubts that came with imported data
  imported    integer not null check (imported in (0, 1)),
  source      text not null,
  planned     integer not null,  -- readings that the plan asks for
  made_at     text not null,
  made_by     text not null,
  made_from   text not null,
  sealed_at   text not null,
  sealed_by   text not null,
  sealed_from text not null,
  key_digest  text not null,
  opened_at   text not null,
  opened_by   text not null,
  opened_from text not null,
  early       integer not null check (early in (0, 1)),
  open_why    text not null,
  open_count  integer not null,  -- readings that stood when the key was opened
  check (early = 0 or open_why <> '')
) strict;

create trigger trial_forward before update of state on trial
when instr('planned sealed running opened finished', new.state) < instr('planned sealed running opened finished', old.state)
begin select raise(abort, 'a trial never goes back to an earlier state'); end;

create trigger trial_plan_stays before update of plan, needs, key_digest, sealed_at on trial
when old.state <> 'planned'
begin select raise(abort, 'the plan of a sealed trial never changes'); end;

create trigger trial_opening_stays before update of opened_at, opened_by, opened_from, early, open_why, open_count on trial
when old.opened_at <> ''
begin select raise(abort, 'the record of the opened key never changes'); end;

create trigger trial_kept before delete on trial
when old.state <> 'planned'
begin select raise(abort, 'a sealed trial is never deleted'); end;

create table known (
  id       integer primary key,
  trial_id integer not null references trial,
  pos      integer not null,
  label    text not null,
  level    real not null,
  u        real not null check (u >= 0),
  u_shared real not null,
  matrix   text not null,
  blank    integer not null check (blank in (0, 1)),
  unique (trial_id, pos)
) strict;

-- pos is the place in the run, over all sessions; null for imported data.
create table vial (
  id           integer primary key,
  trial_id     integer not null references trial,
  known_id     integer not null references known,
  version_id   integer not null references method_version,
  code         text not null,
  session      integer not null,
  session_name text not null,
  pos          integer,
  role         text not null check (role in ('level', 'blank', 'check', 'duplicate')),
  technique    text not null,
  lot_id       integer references lot,
  dilution     real not null check (dilution > 0),
  u_dilution   real not null check (u_dilution >= 0),
  start_s      real not null,
  read_s       real not null
) strict;

create unique index vial_pos on vial (trial_id, pos) where pos is not null;
create unique index vial_code on vial (trial_id, code) where pos is not null;
create index vial_trial on vial (trial_id, session, pos);
create index vial_version on vial (version_id, trial_id);
create index vial_lot on vial (lot_id) where lot_id is not null;

create table vial_reader (
  reader_id integer not null references person,
  trial_id  integer not null references trial,
  vial_id   integer not null references vial,
  primary key (reader_id, trial_id, vial_id)
) strict, without rowid;

create index vial_reader_vial on vial_reader (vial_id, reader_id);

create trigger known_stays before update on known begin select raise(abort, 'a known of a sealed trial never changes'); end;
create trigger known_kept before delete on known begin select raise(abort, 'a known of a sealed trial is never deleted'); end;
create trigger vial_stays before update on vial begin select raise(abort, 'a vial of a sealed trial never changes'); end;
create trigger vial_kept before delete on vial begin select raise(abort, 'a vial of a sealed trial is never deleted'); end;
create trigger vial_reader_stays before update on vial_reader begin select raise(abort, 'a vial of a sealed trial never changes'); end;
create trigger vial_reader_kept before delete on vial_reader begin select raise(abort, 'a vial of a sealed trial is never deleted'); end;
