package main

// startPage is what govrig says when it is told nothing.
const startPage = `govrig plays an engine to a speed governor on the bench; nothing moves but a servo.

Begin here:
  govrig bench                             the whole evening in a window of your browser
  govrig new example.yaml                  a machine file with remarks, of an invented machine
  govrig loadstep example.yaml --virtual   a whole test with a simulated governor, no hardware
  govrig ports                             with the board plugged in: is it found?

govrig help lists all commands; any of them with --help tells what it does.
`
