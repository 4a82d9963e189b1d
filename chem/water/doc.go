// Package water answers: what is in this water?
package water
