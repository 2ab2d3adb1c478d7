// SPDX-License-Identifier: Apache-2.0
#include "tests/kernel/kernel_isotp.h"

#include <linux/can.h>
#include <linux/can/isotp.h>
#include <net/if.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cerrno>

namespace drycrank::io {
namespace {

[[noreturn]] void Fail(const std::string& step) {
  throw std::system_error(errno, std::generic_category(), step);
}

std::error_code LastError() { return {errno, std::generic_category()}; }

}  // namespace

KernelIsoTp::KernelIsoTp(const std::string& interface, const protocol::IsoTpOptions& options)
    : socket_(socket(PF_CAN, SOCK_DGRAM | SOCK_NONBLOCK | SOCK_CLOEXEC, CAN_ISOTP)) {
  if (!socket_.is_open())
    Fail("open an ISO-TP socket (no can-isotp in this kernel? modprobe can-isotp)");
  can_isotp_options opts{};
  opts.flags = CAN_ISOTP_TX_PADDING;
  opts.txpad_content = options.padding;
  can_isotp_fc_options flow{};
  flow.bs = options.block_size;
  flow.stmin = options.st_min;
  if (!SetOption(socket_, SOL_CAN_ISOTP, CAN_ISOTP_OPTS, opts) ||
      !SetOption(socket_, SOL_CAN_ISOTP, CAN_ISOTP_RECV_FC, flow)) {
    Fail("set ISO-TP options");
  }
  const unsigned index = if_nametoindex(interface.c_str());
  if (index == 0) Fail("find interface " + interface);
  const canid_t flag = options.extended ? CAN_EFF_FLAG : 0;
  sockaddr_can address{};
  address.can_family = AF_CAN;
  address.can_ifindex = static_cast<int>(index);
  address.can_addr.tp.tx_id = options.transmit_id | flag;
  address.can_addr.tp.rx_id = options.receive_id | flag;
  if (bind(socket_.get(), reinterpret_cast<const sockaddr*>(&address), sizeof(address)) != 0) {
    Fail("bind ISO-TP to " + interface);
  }
}

std::error_code KernelIsoTp::Send(std::span<const std::uint8_t> message) {
  const ssize_t sent = write(socket_.get(), message.data(), message.size());
  return sent < 0 ? LastError() : std::error_code();
}

std::size_t KernelIsoTp::Receive(std::span<std::uint8_t> out, std::error_code& error) {
  error.clear();
  const ssize_t got = read(socket_.get(), out.data(), out.size());
  if (got >= 0) return static_cast<std::size_t>(got);
  if (errno != EAGAIN) error = LastError();
  return 0;
}

}  // namespace drycrank::io
