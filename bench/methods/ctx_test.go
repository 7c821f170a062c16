package methods_test

import (
	"context"
)

var ctx = context.Background()
