package standards_test

import (
	"context"
)

var ctx = context.Background()
