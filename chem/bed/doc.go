// Package bed answers: how long does this vessel last on this water?
package bed
