// Scales of light figures: which round numbers stand along an axis.

const STEPS = [1, 2, 5];

// Round numbers from `low` to `high`, at most `most` of them: 1, 2 or 5 times a power of ten apart.
export function ticks(low, high, most) {
  const wanted = (high - low) / Math.max(most - 1, 1);
  if (!(wanted > 0)) return [low];
  const power = 10 ** Math.floor(Math.log10(wanted));
  const step = power * (STEPS.find((each) => each * power >= wanted * (1 - 1e-9)) ?? 10);
  const first = Math.ceil(low / step - 1e-9);
  const last = Math.floor(high / step + 1e-9);
  return Array.from({ length: Math.max(last - first + 1, 0) }, (_, number) => Number(((first + number) * step).toPrecision(12)));
}

// A number with its sign in front, as it is printed: +12, −7, 0.
export function signed(value) {
  const whole = Math.round(value);
  if (whole === 0) return "0";
  return whole > 0 ? `+${whole}` : `\u2212${-whole}`;
}
