module knownwater

go 1.26
