// What the other modules share: the page's parts, its words, and what is in the hand now.
export const at = (id) => document.getElementById(id);
export const alone = document.documentElement.dataset.alone === "yes"; // a field sheet: no server
export const forms = () => [...document.querySelectorAll("form[data-kind]")];
/** What is in the hand: this phone, the open drafts, the places of the forms, and what went on from the reading before. */
export const now = { device: null, counter: 0, drafts: {}, places: {}, carried: {}, walk: [], holding: new Set(), nothingKept: false, ready: null };

export const say = (words) => { at("said").textContent = words; };

const TROUBLE = {
  QuotaExceededError: "This phone's storage is full: what you type stays on the screen, but is not kept yet. Write the readings to a file or hand them over, make room, then type one letter more.",
  NothingKept: "Nothing can be kept on this phone: this browser gives the page no storage (a private window, or storage is switched off). What you type stays on the screen, but no reading can be kept or handed over. Open the page in an ordinary window, or write on paper.",
};

export function failed(error) {
  at("trouble").hidden = false;
  at("trouble").textContent = TROUBLE[error?.name] || `Not kept: ${error?.message || error}. What you typed is still on the screen.`;
}
