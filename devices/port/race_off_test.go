//go:build !race

package port_test

const longMinutes = 100
