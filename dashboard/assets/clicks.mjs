// The clicks on the matras: short decaying tones, told apart by pitch and loudness.
//
// Sam is highest and loudest, the first matra of a khali vibhag lowest, other vibhags lie between, plain matras are softest.

const LASTS_S = 0.05;
const DECAY_S = 0.009;
const ATTACK_S = 0.0005;

export const CLICKS = {
  sam: { hz: 1800, level: 1 },
  tali: { hz: 1200, level: 0.6 },
  khali: { hz: 600, level: 0.7 },
  matra: { hz: 1200, level: 0.35 },
};

// Samples of a click, loudest at about its level.
export function clickSamples(kind, rate_hz) {
  const { hz, level } = CLICKS[kind];
  return Float32Array.from({ length: Math.round(LASTS_S * rate_hz) }, (_, i) => {
    const time_s = i / rate_hz;
    return level * Math.min(time_s / ATTACK_S, 1) * Math.exp(-time_s / DECAY_S) * Math.sin(2 * Math.PI * hz * time_s);
  });
}
