// Steps that can be taken back before anything is saved: what the marks were before each, and what they were before it was
// taken back.

export const noSteps = () => ({ past: [], future: [] });

export const stepped = ({ past }, before) => ({ past: [...past, before], future: [] });

// Taking a step back, or bringing one back: {steps, state}, or null where there is none.
export function back({ past, future }, now) {
  return past.length === 0 ? null : { steps: { past: past.slice(0, -1), future: [...future, now] }, state: past.at(-1) };
}

export function forth({ past, future }, now) {
  return future.length === 0 ? null : { steps: { past: [...past, now], future: future.slice(0, -1) }, state: future.at(-1) };
}
