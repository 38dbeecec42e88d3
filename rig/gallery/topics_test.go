package gallery

import "regexp"

// topic is what a sentence is about. Regular expressions tell it, until a run
// carries the keys of its findings; only this file knows.
type topic string

const (
	hunts      topic = "hunts"
	droops     topic = "droop"
	slow       topic = "slow"
	coarse     topic = "coarse speed setting"
	windUp     topic = "wind-up"
	counts     topic = "pulses a turn"
	polarity   topic = "polarity"
	width      topic = "pulse width"
	sensor     topic = "sensor or supply"
	notEngaged topic = "not engaged"
	armsHigh   topic = "engages high only"
	noArming   topic = "no arming threshold"
	selectDead topic = "select without effect"
	unsafe     topic = "not safe"
	noEngine   topic = "start no engine"
	headSpeed  topic = "choose another head speed"
	deadBand   topic = "dead band"
	jitter     topic = "jitter or missing frames"
	slowFrames topic = "slow frames"
	gainUp     topic = "gain may go up"
	notFully   topic = "does not open fully"
)

var topics = map[topic]*regexp.Regexp{
	hunts:      regexp.MustCompile(`(?i)\bhunts\b|\bhunting\b|limit cycle`), // not: does not hunt
	droops:     regexp.MustCompile(`(?i)does not bring it back|droop`),
	slow:       regexp.MustCompile(`(?i)\bslow(ly)?\b|still drifts|takes .* to come back`),
	coarse:     regexp.MustCompile(`(?i)coarse steps|fixed speeds|steps of the (speed )?setting`),
	windUp:     regexp.MustCompile(`(?i)wind-up|winds up`),
	counts:     regexp.MustCompile(`(?i)counts (one pulse for (two|three|\d)|\d+ pulses (for each one|a turn))|takes \d+ pulses for one turn|pulses? a turn \(magnets|pulse\(s\) a turn|both edges`),
	polarity:   regexp.MustCompile(`(?i)polarity only|other polarity`),
	width:      regexp.MustCompile(`(?i)heard, but not|narrow|only pulses of`),
	sensor:     regexp.MustCompile(`(?i)does not hear all pulses`),
	notEngaged: regexp.MustCompile(`(?i)did not take up|not engaged|never engage|do(es)?( not|n't) engage|did not engage|does not govern|was not governing|governs nothing|passes the stick through|(follows|followed) the stick over its whole way`),
	armsHigh:   regexp.MustCompile(`(?i)engages? only (above|at)|engages at (6[5-9]|[789]\d)`),
	noArming:   regexp.MustCompile(`(?i)no arming threshold`),
	selectDead: regexp.MustCompile(`(?i)select.*(no effect|without effect|change[s]? nothing|does nothing)`),
	unsafe:     regexp.MustCompile(`NOT SAFE|(?i)not safe\b`),
	noEngine:   regexp.MustCompile(`(?i)start no engine`),
	headSpeed:  regexp.MustCompile(`(?i)choose a head speed`),
	deadBand:   regexp.MustCompile(`(?i)dead band`),
	jitter:     regexp.MustCompile(`(?i)jitter|frames? .*missing|missing frames?|irregular`),
	slowFrames: regexp.MustCompile(`(?i)(slow|few|rare).*frames|frames.*(slow|few|rare)`),
	notFully:   regexp.MustCompile(`does not reach the ends of the servo`),
	gainUp:     regexp.MustCompile(`(?i)could be up to|turn it up`),
}

// blames are the topics that nobody may raise of a healthy governor on a
// healthy machine.
var blames = []topic{
	hunts, droops, slow, coarse, windUp, counts, polarity, width, sensor, notEngaged, noArming, selectDead,
	unsafe, noEngine, headSpeed, deadBand, jitter, slowFrames, notFully,
}
