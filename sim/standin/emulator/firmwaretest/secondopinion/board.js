/*
 * The firmware in avr8js, an emulator that others have written, on standard
 * input and output. The test beside this folder drives it, a line at a time:
 *
 *   send HEX      puts bytes on the wire to the board, after those that wait
 *   run CYCLE     runs up to a cycle
 *   frame CYCLE   the same, but no further than the end of a zero byte
 *
 * The last two answer with what happened, in its order, and the cycle reached:
 *
 *   pin CYCLE BIT LEVEL    an output of port B
 *   byte CYCLE VALUE       sent by the board; the cycle is the end of its stop bit
 *   reset CYCLE            by the watchdog
 *   at CYCLE
 *
 * avr8js has no input capture and no comparator, so nothing is timed here. What
 * of it differs from the data sheet is told in the emulator's README.
 */
'use strict';

const { readFileSync } = require('node:fs');
const readline = require('node:readline');
const avr8js = require('avr8js');

const HZ = 16e6;
const MCUSR = 0x54, GPIOR2 = 0x4b;

/* The flash from an Intel hex of data records. */
function load(path) {
	const flash = new Uint8Array(0x8000).fill(0xff);
	for (const line of readFileSync(path, 'latin1').split('\n')) {
		const record = Buffer.from(line.trim().slice(1), 'hex');
		if (record.length && record[3] === 0) {
			flash.set(record.subarray(4, 4 + record[0]), record.readUInt16BE(1));
		}
	}
	return new Uint16Array(flash.buffer);
}

const cpu = new avr8js.CPU(load(process.argv[2]), 2048);
const portB = new avr8js.AVRIOPort(cpu, avr8js.portBConfig);
new avr8js.AVRIOPort(cpu, avr8js.portCConfig);
new avr8js.AVRIOPort(cpu, avr8js.portDConfig);
const timers = [avr8js.timer1Config, avr8js.timer2Config].map((config) => new avr8js.AVRTimer(cpu, config));
const usart = new avr8js.AVRUSART(cpu, avr8js.usart0Config, HZ);
const adc = new avr8js.AVRADC(cpu, avr8js.adcConfig);
adc.channelValues[0] = 2.2;
new avr8js.AVRWatchdog(cpu, avr8js.watchdogConfig, new avr8js.AVRClock(cpu, HZ));
cpu.data[MCUSR] = 1; // power-on
cpu.data[GPIOR2] = 0xe5; // so that the firmware says it is emulated

const told = [];
let ended = 0; // the end of a zero byte that has been sent

/* avr8js looks at its timers between instructions. The cycle at which a match
 * was is reckoned back from where the count stands by then. */
let matching = null;
for (const timer of timers) {
	const updated = timer.timerUpdated.bind(timer);
	timer.timerUpdated = (value, before) => {
		matching = timer;
		updated(value, before);
		matching = null;
	};
}

function edgeCycle(bit) {
	if (!matching) {
		return cpu.cycles;
	}
	const compare = bit === 2 ? matching.ocrB : matching.ocrA;
	return matching.lastCycle - ((matching.tcnt - compare) & matching.MAX) * matching.divider;
}

let outputs = 0;
portB.addListener((value) => {
	const now = value & cpu.data[avr8js.portBConfig.DDR];
	for (let bit = 0; bit < 8; bit++) {
		if ((now ^ outputs) >> bit & 1) {
			told.push(`pin ${edgeCycle(bit)} ${bit} ${now >> bit & 1}`);
		}
	}
	outputs = now;
});

usart.onByteTransmit = (value) => {
	const end = cpu.cycles + usart.cyclesPerChar;
	told.push(`byte ${end} ${value}`);
	if (value === 0) {
		ended = end;
	}
};

const waiting = [];
function feed() {
	if (waiting.length && usart.writeByte(waiting[0])) {
		waiting.shift();
	}
}
usart.onRxComplete = feed;

/* avr8js resets the processor alone. Its serial port would stay shut for good, so
 * that is reset as well; all else stands as it stood. */
const reset = cpu.reset.bind(cpu);
cpu.reset = () => {
	told.push(`reset ${cpu.cycles}`);
	reset();
	usart.reset();
};

function run(until, frame) {
	ended = 0;
	while (cpu.cycles < until && !(frame && ended && cpu.cycles >= ended)) {
		avr8js.avrInstruction(cpu);
		cpu.tick();
	}
	process.stdout.write(told.splice(0).concat(`at ${cpu.cycles}`, '').join('\n'));
}

readline.createInterface({ input: process.stdin }).on('line', (line) => {
	const [command, argument] = line.split(' ');
	if (command === 'send') {
		waiting.push(...Buffer.from(argument, 'hex'));
		feed();
	} else {
		run(Number(argument), command === 'frame');
	}
});
