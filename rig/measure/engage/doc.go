// Package engage reads from what was played and what the throttle did whether a
// governor has taken up governing: whether its throttle, off its ends, answers
// a small known change of the played speed against its sense. A steady speed
// alone shows no such thing.
//
// The tests are analyses of variance (any text-book of statistics, from
// memory): what the change explains of the throttle, against what scatters.
package engage
