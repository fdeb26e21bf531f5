/** What every sheet, report and sign-in page must say of itself, in one place. */
export const cautions: readonly string[] = [
  'This is decision support for a trained team. It is not certified and commands nothing.',
  "It replaces neither the voice call, the flight manual, the range's rules, nor the authority's.",
  'Cannot tell is not inside: time that could not be seen counts against the aircraft, and is marked.',
];
