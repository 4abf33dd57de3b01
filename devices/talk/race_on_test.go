//go:build race

package talk

// longMinutes is shorter under the race detector, which makes a fast clock slow.
const longMinutes = 5
