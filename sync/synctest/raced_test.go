//go:build race

package synctest

const raced = true
