// What a field holds that two sides write: we at once (by a key or by typing), and Dash, which tells what it holds only later.
//
// Without this a word from Dash that was under way while two keys were pressed would put the older time back.
//
// A field is {text, told}: `text` is what it holds; `told` begins with what Dash is known to hold, and goes on with what it was
// told since and has not answered for yet.

export const field = (text) => ({ text, told: [text] });

// We write a text.
export const written = ({ told }, text) => ({ text, told: text === told.at(-1) ? told : [...told, text] });

// Dash says what it holds: an answer to what it was told, perhaps long ago, changes nothing; anything else is its own.
export function heard({ text, told }, said) {
  const i = told.indexOf(said);
  return i < 0 ? field(said) : { text, told: told.slice(i) };
}
