// Package letters draws text as single lines, for a pen. Text is only geometry here.
package letters
