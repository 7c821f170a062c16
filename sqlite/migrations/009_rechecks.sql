-- Re-checks of curves: a blank and knowns tested again through one version.
-- Append-only. spec is what was seen, outcome what it said then; led_to is the
-- version that was made with the changed slope, null where none was.

create table curve_recheck (
  id         integer primary key,
  version_id integer not null references curve_version,
  spec       text not null check (json_valid(spec)),
  outcome    text not null check (json_valid(outcome)),
  led_to     integer references curve_version,
  why        text not null,
  made_at    text not null,
  made_by    text not null,
  made_from  text not null
) strict;

create index curve_recheck_version on curve_recheck (version_id);

create trigger curve_recheck_stays before update on curve_recheck
begin select raise(abort, 'a re-check of a curve never changes'); end;
create trigger curve_recheck_kept before delete on curve_recheck
begin select raise(abort, 'a re-check of a curve is never deleted'); end;
create trigger curve_recheck_leads_on before insert on curve_recheck
when new.led_to is not null and not exists (
  select 1 from curve_version a join curve_version b on b.curve_id = a.curve_id
  where a.id = new.version_id and b.id = new.led_to and b.version > a.version)
begin select raise(abort, 'a re-check leads to a later version of its curve'); end;
