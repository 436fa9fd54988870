"use strict";
// A plain tone of our own: harmonics added up, struck and dying away. Nothing is recorded or fetched.
const Sound = (() => {
	// How loud the harmonics are, softer the higher; the tone of a louder stroke has more of the high ones.
	const waves = new Map();
	let context = null;

	function open() {
		context ||= new AudioContext();
		if (context.state === "suspended") context.resume();
		return context;
	}

	function wave(bright) {
		if (!waves.has(bright)) {
			const real = new Float32Array(13), imag = new Float32Array(13);
			for (let n = 1; n <= 12; n++) imag[n] = Math.pow(n, bright - 2.2);
			waves.set(bright, context.createPeriodicWave(real, imag));
		}
		return waves.get(bright);
	}

	// strike sounds a key at a time of the context, for so many seconds; it returns how to end it.
	function strike(key, velocity, at, length) {
		const loud = velocity / 127;
		const tone = context.createOscillator(), gain = context.createGain();
		tone.setPeriodicWave(wave(Math.round(4 * loud) / 4));
		tone.frequency.value = 440 * Math.pow(2, (key - 69) / 12); // equal temperament, A4 = 440 Hz (ISO 16)
		const peak = 0.22 * loud * loud + 0.02, fade = 3.5 * Math.pow(2, (48 - key) / 24);
		gain.gain.setValueAtTime(0, at);
		gain.gain.linearRampToValueAtTime(peak, at + 0.006);
		gain.gain.setTargetAtTime(0, at + 0.006, fade / 3);
		gain.gain.setTargetAtTime(0, at + Math.max(length, 0.05), 0.05);
		tone.connect(gain).connect(context.destination);
		tone.start(at);
		tone.stop(at + Math.min(Math.max(length, 0.05), 3 * fade) + 0.4);
		return () => { gain.gain.cancelScheduledValues(0); gain.gain.setTargetAtTime(0, context.currentTime, 0.03); tone.stop(context.currentTime + 0.2); };
	}

	// note sounds one key at once.
	function note(key, velocity = 70, length = 0.8) {
		strike(key, velocity, open().currentTime, length);
	}

	// play sounds keys, in order of time, from a place in seconds on; reach is called with the index of
	// each as it sounds, and over at the end. It returns how to stop.
	function play(keys, from, speed, reach, over) {
		const c = open(), start = c.currentTime + 0.15;
		const time = k => start + (k.on - from) / speed;
		let next = keys.findIndex(k => k.on >= from - 0.001), shown = next, ended = false;
		if (next < 0) next = shown = keys.length;
		const sounding = new Set();
		const timer = setInterval(step, 40);
		function step() {
			for (; next < keys.length && time(keys[next]) < c.currentTime + 0.3; next++) {
				const k = keys[next], at = Math.max(time(k), c.currentTime), end = strike(k.key, k.velocity, at, k.length / speed);
				sounding.add(end);
				setTimeout(() => sounding.delete(end), 1000 * (at - c.currentTime + k.length / speed + 1));
			}
			for (; shown < keys.length && time(keys[shown]) <= c.currentTime; shown++) reach(shown);
			const last = keys.at(-1);
			if (!last || shown === keys.length && c.currentTime > time(last) + last.length / speed + 0.3) stop();
		}
		function stop() {
			if (ended) return;
			ended = true;
			clearInterval(timer);
			for (const end of sounding) end();
			over();
		}
		return stop;
	}
	return { note, play };
})();
