//go:build linux || darwin

package main

import "syscall"

// syncAll brings to the disk what was written, of thousands of small files at
// once: one call for each of them would take minutes on a slow disk.
func syncAll() { syscall.Sync() }
