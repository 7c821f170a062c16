package exchange

import (
	"knownwater/sqlite"
)

var (
	importedState = sqlite.SQL(`update trial set state = 'finished' where id = ?`)
	emptyBench    = sqlite.SQL(`select (select count(*) from person) + (select count(*) from event) + (select count(*) from trial)`)
)

var photoBytes = sqlite.SQL(`select data from photo where name = ?`)

var copySums = sqlite.SQL(`select (select count(*) from trial), (select count(*) from reading), coalesce((select max(kept_at) from reading), '')`)
