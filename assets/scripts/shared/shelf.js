// Where pages are kept on the device, by the worker and by the pages themselves: one shelf, since whoever
// clears away an older one clears all others.
export const SHELF = 'pages-1';
