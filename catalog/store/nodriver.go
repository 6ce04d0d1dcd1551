//go:build !cgo

package store

const hasDriver = false

func codeOf(error) int { return 0 }
