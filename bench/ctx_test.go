package bench_test

import (
	"context"
)

var ctx = context.Background()
