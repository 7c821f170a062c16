package calibrations_test

import (
	"context"
)

var ctx = context.Background()
