-- Readings taken after the key was opened are few; each trial's head counts them.
create index reading_after_key on reading (trial_id) where after_key = 1;
