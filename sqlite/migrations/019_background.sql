-- What of a known's uncertainty comes from the background of its water. All knowns share it, as they share their stock
-- (u_shared), and it is another error than that; 0: none is known of.

alter table known add column u_background real not null default 0 check (u_background >= 0);
