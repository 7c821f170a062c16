package sqlite

import "syscall"

func mountSmall(dir string) error { return syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=1m") }

func bindReadOnly(dir string) error {
	if err := syscall.Mount(dir, dir, "", syscall.MS_BIND, ""); err != nil {
		return err
	}
	return syscall.Mount("", dir, "", syscall.MS_BIND|syscall.MS_REMOUNT|syscall.MS_RDONLY, "")
}

func unmount(dir string) { syscall.Unmount(dir, syscall.MNT_DETACH) }
