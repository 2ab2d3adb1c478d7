// SPDX-License-Identifier: Apache-2.0
//
// ISO-TP by the kernel (can-isotp, Linux 5.10 and later), where it is there: the same messages as
// protocol/isotp.h, its timing kept by the kernel. Thin: one socket, send and receive, no waiting.
#ifndef DRYCRANK_TESTS_KERNEL_KERNEL_ISOTP_H_
#define DRYCRANK_TESTS_KERNEL_KERNEL_ISOTP_H_

#include <cstdint>
#include <span>
#include <string>
#include <system_error>

#include "io/socket.h"
#include "protocol/isotp.h"

namespace drycrank::io {

class KernelIsoTp {
 public:
  // Takes identifiers, block size, STmin and padding of the options; the time-outs are the kernel's
  // (1 s). Throws std::system_error whose text names the step: no can-isotp in this kernel
  // ("modprobe can-isotp"), no such interface.
  KernelIsoTp(const std::string& interface, const protocol::IsoTpOptions& options);

  // Hands the message over. EAGAIN: one is still on its way.
  [[nodiscard]] std::error_code Send(std::span<const std::uint8_t> message);
  // A whole message into `out`; 0 and no error when there is none. What went wrong on the way comes
  // as an error: EILSEQ wrong sequence, ETIMEDOUT no consecutive frame, ECOMM no flow control,
  // EMSGSIZE overflow.
  std::size_t Receive(std::span<std::uint8_t> out, std::error_code& error);
  int FileDescriptor() const { return socket_.get(); }

 private:
  Socket socket_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_TESTS_KERNEL_KERNEL_ISOTP_H_
