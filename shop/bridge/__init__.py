"""Between the tables and packs: conversion only, one module per room of packs."""
