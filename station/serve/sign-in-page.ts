/** The one page the station itself writes: for whoever is not signed in. It also carries the cautions. */

import { cautions } from '../../protocol/cautions.ts';
import { visible } from '../../protocol/visible-text.ts';

/** What whoever signs in must know besides what all papers and pages say. */
const ofTheRoom = ['A stop is called by voice. The control on the screen records that the call was made.'];

export const signInStyle = `
:root { color-scheme: light dark; font: 1rem/1.5 system-ui, sans-serif; }
body { margin: 0; }
main { max-width: 40rem; margin: 3rem auto; padding: 0 1.25rem; }
h1 { font-size: 1.5rem; }
h2 { font-size: 1.1rem; }
li { margin: 0.4rem 0; }
label { display: block; margin: 0.6rem 0; }
input { display: block; font: inherit; width: 100%; max-width: 20rem; box-sizing: border-box; padding: 0.3rem; }
button { font: inherit; padding: 0.4rem 1.2rem; }
[role='alert'] { border: 2px solid; padding: 0.3rem 0.7rem; font-weight: 700; }
`;

const escapes: Record<string, string> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };
const escaped = (text: string): string => visible(text).replace(/[&<>"']/g, (c) => escapes[c] as string);

export interface SignInPage {
  mission: string;
  mode: string;
  /** people sign in here by id and password */
  byPassword: boolean;
  /** why the page is shown, when it is not simply the first visit */
  trouble?: string;
}

const form = `<form method="post" action="/sign-in">
<label>Id <input name="id" autocomplete="username" autocapitalize="none" spellcheck="false" maxlength="60" required autofocus></label>
<label>Password <input name="password" type="password" autocomplete="current-password" maxlength="400" required></label>
<button type="submit">Sign in</button>
</form>
<p>What you may do follows from the position that the mission of the day gives you. Without one you may look, not act.</p>
<p>When the station was started again, everybody signs in anew. A stop call logged while it was silent is kept by the window it was
logged in, and filed as soon as the person who logged it has signed in there.</p>`;

const viewing = `<p>Open the viewing link that the station printed when it started. It lets you look; to act, a person needs an account
(<code>groundchase account add</code>).</p>`;

const link = `<p>Open the sign-in link that the station printed for you when it started. Each person has a link of their own.</p>`;

export function signInPage({ mission, mode, byPassword, trouble = '' }: SignInPage): string {
  const how = byPassword ? form : mode === 'live' ? viewing : link;
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Groundchase: sign in</title>
<link rel="stylesheet" href="/sign-in.css">
</head>
<body>
<main>
<h1>Groundchase: ${escaped(mission)} (${escaped(mode)})</h1>
${trouble === '' ? '' : `<p role="alert">${escaped(trouble)}</p>\n`}<p>You are not signed in.</p>
${how}
<h2>Before you use it</h2>
<ul>
${[...cautions, ...ofTheRoom].map((caution) => `<li>${escaped(caution)}</li>`).join('\n')}
</ul>
</main>
</body>
</html>
`;
}
