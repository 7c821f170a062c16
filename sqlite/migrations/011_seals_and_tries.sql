-- The key of a trial is committed to with a random salt when it is sealed, so that
-- the commitment can be shown while the key is shut. Older trials have none.
alter table trial add column key_salt text not null default '';

drop trigger trial_plan_stays;
create trigger trial_plan_stays before update of plan, needs, key_digest, key_salt, sealed_at on trial
when old.state <> 'planned'
begin select raise(abort, 'the plan of a sealed trial never changes'); end;

-- What a wrong try was at: shown to the owner.
alter table attempt add column what text not null default 'passphrase';
