//go:build !race

package talk

const longMinutes = 100
