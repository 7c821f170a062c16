-- A data set of many readings comes in by and by, so that nobody who takes a
-- reading waits for it. Until it is whole, all that it brings is marked with its
-- trial and seen by nobody. What an import brought that was stopped, or that did not
-- come to its end, goes away again: that alone may be deleted.

alter table trial add column arriving integer not null default 0 check (arriving in (0, 1));
alter table person add column arriving integer references trial;
alter table method add column arriving integer references trial;
alter table lot add column arriving integer references trial;
alter table need add column arriving integer references trial;

create index trial_arriving on trial (id) where arriving = 1;
create index reading_root on reading (root) where root is not null;

create trigger trial_has_arrived before update of arriving on trial
when old.arriving = 0 and new.arriving <> 0
begin select raise(abort, 'a trial that is here does not arrive again'); end;

drop trigger trial_kept;
create trigger trial_kept before delete on trial
when old.state <> 'planned' and old.arriving = 0
begin select raise(abort, 'a sealed trial is never deleted'); end;

drop trigger known_kept;
create trigger known_kept before delete on known
when (select arriving from trial where id = old.trial_id) = 0
begin select raise(abort, 'a known of a sealed trial is never deleted'); end;

drop trigger vial_kept;
create trigger vial_kept before delete on vial
when (select arriving from trial where id = old.trial_id) = 0
begin select raise(abort, 'a vial of a sealed trial is never deleted'); end;

drop trigger reading_kept_for_good;
create trigger reading_kept_for_good before delete on reading
when (select arriving from trial where id = old.trial_id) = 0
begin select raise(abort, 'readings are append-only'); end;

drop trigger method_version_kept;
create trigger method_version_kept before delete on method_version
when (select arriving from method where id = old.method_id) is null
begin select raise(abort, 'a version of a method is never deleted'); end;
