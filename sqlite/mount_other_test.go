//go:build !linux

package sqlite

import "errors"

var errNoMount = errors.New("not on this system")

func mountSmall(string) error   { return errNoMount }
func bindReadOnly(string) error { return errNoMount }
func unmount(string)            {}
