-- What a trial is called now, and where it stands: in the lists, put away (archived), or
-- taken out because it should not be there (removed). Append-only: the last row counts, and
-- going back is another row. Nothing of the trial itself changes.

create table trial_place (
  id       integer primary key,
  trial_id integer not null references trial,
  title    text not null check (title <> ''),
  place    text not null check (place in ('here', 'archived', 'removed')),
  why      text not null check (why <> ''),
  at       text not null,
  by_name  text not null,
  by_from  text not null
) strict;

create index trial_place_trial on trial_place (trial_id, id);
create trigger trial_place_stays before update on trial_place begin select raise(abort, 'where trials stand is append-only'); end;
create trigger trial_place_kept before delete on trial_place begin select raise(abort, 'where trials stand is append-only'); end;
