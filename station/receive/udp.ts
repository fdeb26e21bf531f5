/** UDP input, unicast and multicast: one datagram is one message. */
import { createSocket } from 'node:dgram';
import { isIPv6 } from 'node:net';
import { listenError } from '../start-error.ts';
import {
  addressText,
  type Input,
  type InputCaps,
  isMulticast,
  type ListenAddress,
  newCounts,
  refuse,
  type Take,
} from './input.ts';

export async function openUdp(at: ListenAddress, caps: InputCaps, take: Take): Promise<Input> {
  const counts = newCounts();
  const notices: string[] = [];
  const group = isMulticast(at.host);
  const socket = createSocket({
    type: isIPv6(at.host) ? 'udp6' : 'udp4',
    // Several programs may follow one multicast group; a unicast port in use must be reported.
    reuseAddr: group,
    recvBufferSize: caps.udpBufferBytes,
  });
  const asked = addressText('udp', at.host, at.port);
  await new Promise<void>((resolve, reject) => {
    const failed = (error: Error) => {
      socket.close();
      reject(listenError(asked, at.port, error));
    };
    socket.once('error', failed);
    // Bound to the group itself, the socket gets nothing that was sent to this port for anyone else.
    socket.bind({ address: at.host, port: at.port, exclusive: true }, () => {
      socket.off('error', failed);
      try {
        if (group) socket.addMembership(at.host, at.networkInterface || undefined);
        resolve();
      } catch (error) {
        failed(error as Error);
      }
    });
  });
  // An ICMP complaint about some earlier datagram is no reason to stop listening.
  socket.on('error', () => refuse(counts, 'socket error'));
  socket.on('message', (message, from) => {
    if (message.length === 0) return refuse(counts, 'empty datagram');
    if (message.length > caps.messageBytes) return refuse(counts, 'message too large');
    counts.messages++;
    counts.bytes += message.length;
    take(message, from.address);
  });
  // Linux reports twice what the program gets: the other half is its own bookkeeping.
  const reported = socket.getRecvBufferSize();
  const granted = process.platform === 'linux' ? reported / 2 : reported;
  if (granted < caps.udpBufferBytes) {
    notices.push(
      `${asked}: the system allows a receive buffer of ${granted >> 10} KiB only, ${caps.udpBufferBytes >> 10} KiB were asked for; bursts may be lost (net.core.rmem_max on Linux).`,
    );
  }
  const { port } = socket.address();
  return {
    address: addressText('udp', at.host, port),
    port,
    counts,
    notices,
    close: () => new Promise((resolve) => socket.close(() => resolve())),
  };
}
