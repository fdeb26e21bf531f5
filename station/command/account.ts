/** `groundchase account`: who may sign in at a live station of this machine. */
import { homedir } from 'node:os';
import { join } from 'node:path';
import {
  type Account,
  AccountError,
  changeAccounts,
  idFault,
  nameFault,
  readAccounts,
} from '../access/account-file.ts';
import { hashPassword, passwordFault, passwordLength } from '../access/password.ts';
import {
  type Arguments,
  type Command,
  type CommandOption,
  exitCode,
  jsonOption,
  print,
  printJson,
  say,
  Trouble,
  WrongUse,
} from './command.ts';
import { readHidden, readPiped } from './hidden-line.ts';

export const accountsOption: CommandOption = {
  name: 'accounts',
  kind: 'text',
  value: 'FILE',
  default: join(homedir(), 'groundchase', 'accounts.json'),
  summary: 'file of the accounts, outside every mission folder; made when missing',
};

type Action = (args: Arguments, file: string, id: string) => Promise<number> | number;

const actions: Record<string, { needsId: boolean; run: Action }> = {
  add: { needsId: true, run: add },
  password: { needsId: true, run: changePassword },
  disable: { needsId: true, run: (_args, file, id) => setDisabled(file, id, true) },
  enable: { needsId: true, run: (_args, file, id) => setDisabled(file, id, false) },
  list: { needsId: false, run: list },
};

export const command: Command = {
  name: 'account',
  summary: 'who may sign in at a live station: add, password, disable, enable, list',
  usage: 'ACTION [ID]',
  details: `ACTION is one of:
  add ID --name NAME  a new person; asks for the password
  password ID         another password; ends the sessions of that person
  disable ID          that person cannot sign in any more; ends the sessions
  enable ID           takes that back
  list                all accounts, without passwords

The id is that of a person in mission.yaml: which position the person holds comes from there, day by day. An account
whose id the mission does not know may look, not act. A running station heeds a change at once. A password has at least
${passwordLength.least} characters; it is asked for without showing it, and never printed or kept as it is.

Example: groundchase account add ines --name "Ines Arkwright"`,
  options: [
    { name: 'name', kind: 'text', value: 'NAME', summary: 'for add: what the room calls the person' },
    {
      name: 'password-stdin',
      kind: 'flag',
      summary: 'read the password from standard input, one line, instead of from the terminal',
    },
    accountsOption,
    jsonOption,
  ],
  async run(args) {
    const [name = '', id = ''] = args.operands;
    const action = Object.hasOwn(actions, name) ? actions[name] : undefined;
    if (action === undefined) throw new WrongUse(`ACTION is ${Object.keys(actions).join(', ')}; found ${name}`);
    if (action.needsId && id === '') throw new WrongUse('ID is missing');
    if (!action.needsId && id !== '') throw new WrongUse(`what to do with "${id}" is not clear`);
    if (action.needsId && idFault(id) !== '') throw new WrongUse(`${JSON.stringify(id)}: ${idFault(id)}`);
    if (name !== 'add' && args.given('name')) throw new WrongUse('--name goes with add alone');
    if (name !== 'list' && args.flag('json')) throw new WrongUse('--json goes with list alone');
    try {
      return await action.run(args, args.text('accounts'), id);
    } catch (error) {
      throw error instanceof AccountError ? new Trouble(error.message) : error;
    }
  },
};

async function add(args: Arguments, file: string, id: string): Promise<number> {
  if (!args.given('name')) throw new WrongUse('--name NAME is needed: what the room calls the person');
  const name = args.text('name');
  if (nameFault(name) !== '') throw new WrongUse(nameFault(name));
  const absent = (accounts: Account[]) => {
    if (accounts.some((account) => account.id === id)) throw new Trouble(`there is an account ${id} already`);
    return accounts;
  };
  // told before anybody types a password
  absent(readAccounts(file));
  const password = await hashPassword(await newPassword(args));
  const created = new Date().toISOString();
  changeAccounts(file, (accounts) => [...absent(accounts), { id, name, password, created, disabled: false }]);
  say(`account ${id} (${name}) added to ${file}`);
  return exitCode.success;
}

async function changePassword(args: Arguments, file: string, id: string): Promise<number> {
  changed(readAccounts(file), id, {});
  const password = await hashPassword(await newPassword(args));
  changeAccounts(file, (accounts) => changed(accounts, id, { password }));
  say(`account ${id} has another password; its sessions have ended`);
  return exitCode.success;
}

function setDisabled(file: string, id: string, disabled: boolean): number {
  // found before anything is written, so that a mistyped id makes no file
  changed(readAccounts(file), id, {});
  changeAccounts(file, (accounts) => changed(accounts, id, { disabled }));
  say(`account ${id} is ${disabled ? 'disabled; its sessions have ended' : 'enabled'}`);
  return exitCode.success;
}

function changed(accounts: Account[], id: string, more: Partial<Account>): Account[] {
  if (!accounts.some((account) => account.id === id)) throw new Trouble(`there is no account ${id}`);
  return accounts.map((account) => (account.id === id ? { ...account, ...more } : account));
}

function list(args: Arguments, file: string): number {
  const accounts = readAccounts(file).map(({ id, name, created, disabled }) => ({ id, name, created, disabled }));
  if (args.flag('json')) {
    printJson({ file, accounts });
    return exitCode.success;
  }
  const width = Math.max(0, ...accounts.map(({ id }) => id.length));
  for (const { id, name, created, disabled } of accounts)
    print(`${id.padEnd(width)}  ${created.slice(0, 10)}  ${disabled ? 'disabled' : 'enabled '}  ${name}`);
  say(`${accounts.length} ${accounts.length === 1 ? 'account' : 'accounts'} in ${file}`);
  return exitCode.success;
}

/** Asks twice at a terminal, since nobody sees what is typed. */
async function newPassword(args: Arguments): Promise<string> {
  if (args.flag('password-stdin')) return checkedPassword(await readPiped(process.stdin));
  if (!process.stdin.isTTY)
    throw new Trouble('there is no terminal to ask for the password; --password-stdin reads it from standard input');
  const password = checkedPassword(await readHidden('Password: ', process.stdin, process.stderr));
  if ((await readHidden('The same again: ', process.stdin, process.stderr)) !== password)
    throw new Trouble('the two passwords differ; nothing was changed');
  return password;
}

function checkedPassword(password: string): string {
  const fault = passwordFault(password);
  if (fault !== '') throw new Trouble(`${fault}; nothing was changed`);
  return password;
}
