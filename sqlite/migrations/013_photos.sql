-- Photographs that no reading names are few and go after a day: they are found by this.
create index reading_photo on reading (photo) where photo is not null;
create index photo_person on photo (person_id);
