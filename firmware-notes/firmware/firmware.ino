// This file is empty on purpose: the Arduino IDE wants one with the folder's
// name. The firmware is in the C files beside it; main.c is where it starts.
