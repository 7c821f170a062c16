package main

import "io/fs"

func sameOwner(string, fs.FileInfo) {}
