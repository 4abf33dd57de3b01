// Package browsertest walks through pages in a real browser, as a person would.
package browsertest
