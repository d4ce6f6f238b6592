// Runs before any script of a page, in browsers whose checks each begin with nothing kept.
try {
  sessionStorage.clear();
  localStorage.clear();
  indexedDB.deleteDatabase("limner");
} catch {
  // a page without an origin has nothing kept
}
