package people_test

import (
	"context"
)

var ctx = context.Background()
