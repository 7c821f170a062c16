-- Nitrite, mg/L NO2, with its standard uncertainty. A known of nitrate that holds some judges no level: its readings
-- say what a method makes of nitrite; 0: it holds none. Of a result and of a row of an earlier log it is what the water
-- held beside, null where nobody says.

alter table known add column nitrite real not null default 0 check (nitrite >= 0);
alter table known add column u_nitrite real not null default 0 check (u_nitrite >= 0);

alter table result add column nitrite real check (nitrite >= 0);
alter table result add column u_nitrite real not null default 0 check (u_nitrite >= 0);

alter table earlier_row add column nitrite real check (nitrite >= 0);
alter table earlier_row add column u_nitrite real not null default 0 check (u_nitrite >= 0);
