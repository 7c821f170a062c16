package trials_test

import (
	"context"
)

var ctx = context.Background()
