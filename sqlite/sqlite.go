// Package sqlite keeps a bench in one file.
package sqlite

// DB is an open bench file.
type DB struct{}
