/** Why something cannot start or go on, in words for the person at the keyboard. Never a programming fault. */
export class StartError extends Error {
  override name = 'StartError';
}

/** Turns what the system says about an address into what a person can do about it. */
export function listenError(address: string, port: number, error: NodeJS.ErrnoException): StartError {
  switch (error.code) {
    case 'EADDRINUSE':
      return new StartError(
        `${address}: port ${port} is in use by another program. Stop that program, choose another port, or take port 0 for any free one.`,
      );
    case 'EADDRNOTAVAIL':
      return new StartError(`${address}: this machine has no such address.`);
    case 'EACCES':
      return new StartError(`${address}: not permitted. Ports below 1024 usually need administrator rights.`);
    case 'ENOTFOUND':
    case 'EAI_AGAIN':
      return new StartError(`${address}: the host name cannot be resolved.`);
    default:
      return new StartError(`${address}: ${error.message}`);
  }
}
