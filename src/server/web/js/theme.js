// @ts-check
// Light or dark, before anything is painted: the one script that is no module and is not deferred.
(() => {
  try {
    const kept = localStorage.getItem('evenhand-theme');
    if (kept === 'light' || kept === 'dark') document.documentElement.dataset.theme = kept;
  } catch { /* storage is switched off: as the device has it */ }
})();
